import type { App } from '../app.js'
import { EXIT } from './exit-code.js'
import { requiredWorkspace } from './required-workspace.js'
import { plain } from './say-problem.js'

const WORD = { ok: 'ok  ', warn: 'SEE ', bad: 'BAD ' } as const

/** `burngate check`: is this workspace healthy, with a page of how the scanners age. 0: yes; 2: something to see to; 1: scans cannot be inspected, or records are in danger. */
export async function checkCommand(
  options: { readonly workspace?: string; readonly json?: boolean },
  app: App,
): Promise<number> {
  const { findings, page } = await app.checkWorkspace(requiredWorkspace(app, options.workspace))
  for (const finding of findings) {
    if (options.json === true) app.terminal.out(JSON.stringify({ schema: 'burngate/check@1', ...finding }))
    else {
      app.terminal.say(`${WORD[finding.state]} ${plain(finding.says)}`)
      if (finding.next !== '') app.terminal.say(`     To do: ${plain(finding.next)}`)
    }
  }
  if (page !== null && options.json !== true) app.terminal.say(`Page: ${page}`)
  if (findings.some(f => f.state === 'bad')) return EXIT.fail
  return findings.some(f => f.state === 'warn') ? EXIT.recheck : EXIT.pass
}

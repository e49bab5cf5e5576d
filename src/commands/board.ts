import type { App } from '../app.js'
import { dateOption } from './date-option.js'
import { EXIT } from './exit-code.js'
import { requiredWorkspace } from './required-workspace.js'
import { plain } from './say-problem.js'

/** `burngate board`: rewrites the burn-room board from the history. */
export async function boardCommand(
  options: { readonly workspace?: string; readonly before?: string },
  app: App,
): Promise<number> {
  const before = options.before === undefined ? null : dateOption(options.before)
  if (options.before !== undefined && before === null) {
    app.terminal.say(`--before must be a date as in 2026-12-31; got "${plain(options.before)}".`)
    return EXIT.usage
  }
  const workspace = await app.openWorkspace(requiredWorkspace(app, options.workspace))
  try {
    const rows = await workspace.writeBoard(before)
    const count = (verdict: string) => rows.filter(row => row.verdict === verdict).length
    const accepted = rows.filter(row => row.accepted !== undefined).length
    app.terminal.say(
      `${rows.length} positives: ${count('pass')} pass, ${count('recheck')} recheck, ${count('fail')} fail${accepted === 0 ? '' : `; ${accepted} of them accepted by a person`}.`,
    )
    app.terminal.say(`Board: ${workspace.paths.board}`)
    return EXIT.pass
  } finally {
    await workspace.close()
  }
}

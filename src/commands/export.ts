import type { App } from '../app.js'
import { dateOption } from './date-option.js'
import { EXIT } from './exit-code.js'
import { requiredWorkspace } from './required-workspace.js'
import { plain } from './say-problem.js'

/** `burngate export --csv FILE | --json FILE`: the whole history into a file. */
export async function exportCommand(
  options: { readonly workspace?: string; readonly csv?: string; readonly json?: string; readonly before?: string },
  app: App,
): Promise<number> {
  const { csv, json } = options
  if (csv === undefined && json === undefined) {
    app.terminal.say('Say where to: --csv FILE or --json FILE.')
    return EXIT.usage
  }
  const before = options.before === undefined ? null : dateOption(options.before)
  if (options.before !== undefined && before === null) {
    app.terminal.say(`--before must be a date as in 2026-12-31; got "${plain(options.before)}".`)
    return EXIT.usage
  }
  const workspace = await app.openWorkspace(requiredWorkspace(app, options.workspace))
  try {
    for (const [form, file] of [['csv', csv] as const, ['json', json] as const]) {
      if (file === undefined) continue
      const count = await workspace.exportTo(file, form, before)
      app.terminal.say(`${count} inspections written to ${file}`)
    }
    return EXIT.pass
  } finally {
    await workspace.close()
  }
}

import type { App } from '../app.js'
import { EXIT } from './exit-code.js'
import { requiredWorkspace } from './required-workspace.js'

/** `burngate board`: rewrites the burn-room board from the history. */
export async function boardCommand(options: { readonly workspace?: string }, app: App): Promise<number> {
  const workspace = await app.openWorkspace(requiredWorkspace(app, options.workspace))
  try {
    const rows = await workspace.writeBoard()
    const count = (verdict: string) => rows.filter(row => row.verdict === verdict).length
    app.terminal.say(
      `${rows.length} positives: ${count('pass')} pass, ${count('recheck')} recheck, ${count('fail')} fail.`,
    )
    app.terminal.say(`Board: ${workspace.paths.board}`)
    return EXIT.pass
  } finally {
    await workspace.close()
  }
}

import type { App } from '../app.js'
import { EXIT } from './exit-code.js'
import { requiredWorkspace } from './required-workspace.js'
import { plain } from './say-problem.js'

export interface AcceptOptions {
  readonly workspace?: string
  readonly by: string
  readonly because: string
  readonly json?: boolean
}

/** `burngate accept ID --by NAME --because REASON`: a person lets a film through that did not pass. 0: it stands on record; 64: refused. */
export async function acceptCommand(id: string, options: AcceptOptions, app: App): Promise<number> {
  const { terminal } = app
  const workspace = await app.openWorkspace(requiredWorkspace(app, options.workspace))
  try {
    const { inspection, acceptance, known, report } = await workspace.accept({
      id,
      by: options.by,
      because: options.because,
    })
    await workspace.writeBoard()
    if (options.json === true)
      terminal.out(JSON.stringify({ schema: 'burngate/acceptance@1', positive: inspection.positive, ...acceptance }))
    terminal.say(
      `${known ? 'Accepted before' : 'Accepted'}: ${plain(inspection.positive)} (inspection ${inspection.id}), by ${plain(acceptance.by)}: ${plain(acceptance.because)}`,
    )
    const why = inspection.findings[0]?.why ?? ''
    terminal.say(`  The instrument said ${inspection.verdict.toUpperCase()}${why === '' ? '' : `: ${plain(why)}`}`)
    terminal.say('  Both words are kept for ever.')
    terminal.say(
      report === null ? '  Its report is not in reports/ any more; board and history show it.' : `Report: ${report}`,
    )
    terminal.say(`Board: ${workspace.paths.board}`)
    return EXIT.pass
  } finally {
    await workspace.close()
  }
}

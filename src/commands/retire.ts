import { type App, formatTime } from '../app.js'
import { EXIT } from './exit-code.js'
import { requiredWorkspace } from './required-workspace.js'
import { plain } from './say-problem.js'

export interface RetireOptions {
  readonly workspace?: string
  readonly because: string
  readonly by?: string
  readonly all?: boolean
  readonly json?: boolean
}

/** `burngate retire ID --because REASON`: a stored film was taken out of its drawer; nobody is asked to scan it any more. */
export async function retireCommand(id: string, options: RetireOptions, app: App): Promise<number> {
  const { terminal } = app
  const workspace = await app.openWorkspace(requiredWorkspace(app, options.workspace))
  try {
    const { retirement, known } = await workspace.retire({
      id,
      because: options.because,
      ...(options.by === undefined ? {} : { by: options.by }),
      ...(options.all === undefined ? {} : { all: options.all }),
    })
    await workspace.writeBoard()
    if (options.json === true) terminal.out(JSON.stringify({ schema: 'burngate/retirement@1', ...retirement }))
    const { positive, prints, because, at } = retirement
    terminal.say(
      `${known ? 'Taken out before' : 'Taken out'}: ${plain(positive)}, ${prints === 'older' ? 'the prints from before it was printed anew' : 'all prints'}, on ${formatTime(at)}: ${plain(because)}`,
    )
    terminal.say(
      prints === 'older'
        ? '  Its newest print stays in the drawer; --all takes that out too.'
        : '  Nobody is asked to scan it any more; a new scan of it brings it back.',
    )
    terminal.say(`Board: ${workspace.paths.board}`)
    return EXIT.pass
  } finally {
    await workspace.close()
  }
}

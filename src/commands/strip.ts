import type { App } from '../app.js'
import { ProblemError, type problem } from '../model/problem.js'
import type { StripForm, StripLaid, StripTints } from '../model/strip.js'
import { EXIT } from './exit-code.js'
import { plain, problemLine, sayProblem } from './say-problem.js'

export interface StripOptions {
  readonly positive: string
  readonly jobType: string
  readonly dpi: string
  readonly form: StripForm
  readonly laid: StripLaid
  readonly tints: StripTints
  readonly setting?: string
  readonly stock?: string
  readonly mode?: string
  readonly level?: string
  readonly printer?: string
  readonly workspace?: string
  readonly out?: string
  readonly json?: boolean
}

/** `burngate strip`: writes the control strip of one positive, ready to lay beside its artwork. */
export async function stripCommand(options: StripOptions, app: App): Promise<number> {
  const { terminal } = app
  const { workspace, out, json, ...task } = options
  const refuse = (found: ReturnType<typeof problem>): number => {
    if (json === true) terminal.out(problemLine(found, null))
    sayProblem(terminal, found)
    return found.code === 'FILE_NOT_WRITABLE' ? EXIT.notInspected : EXIT.usage
  }
  let made: Awaited<ReturnType<App['writeStrip']>>
  try {
    made = await app.writeStrip(task, { folder: app.workspaceFolder(workspace), ...(out === undefined ? {} : { out }) })
  } catch (error) {
    if (error instanceof ProblemError) return refuse(error.problem)
    throw error
  }
  if (json === true) {
    terminal.out(JSON.stringify({ schema: 'burngate/strip@1', ...made }))
    return EXIT.pass
  }
  const { dpi, laid } = made.identity
  terminal.say(
    `Control strip: ${plain(made.file)}, ${made.across.toFixed(1)} mm across the head, ${made.feed.toFixed(1)} mm along the feed`,
  )
  terminal.say(
    dpi.across === dpi.along
      ? `Lay it beside the artwork at 100 %, unturned, and print at ${dpi.across} dpi: no scaling, no smoothing, no colour management.`
      : `Lay it beside the artwork at 100 %, unturned, and print at ${dpi.across} dpi across the head and ${dpi.along} along the feed: no scaling, no smoothing, no colour management.`,
  )
  terminal.say(
    made.screen === null
      ? 'Tints are plain grey: screen them as the artwork is screened.'
      : `Tints are screened at ${made.screen.ruling.toFixed(1)} lines/in and ${made.screen.angle.toFixed(1)} degrees${made.screenFrom === 'usual' ? ' (the job type names no screen)' : ''}: leave them as they are.`,
  )
  terminal.say(
    `The thinnest lines are ${made.thinnest.across.toFixed(0)} um across the head and ${made.thinnest.feed.toFixed(0)} um along the feed: whole printer pixels.`,
  )
  if (laid === 'head')
    terminal.say('Banding shows best along the feed: with room at the side of the artwork use --laid feed.')
  if (made.shorter !== null)
    terminal.say(
      `The code is fine (${made.module.toFixed(2)} mm a module), for it says much: ${made.shorter.characters} characters less make it 0.40 mm or coarser, which is read more surely at 600 dpi and through scratches. The longest are the ${made.shorter.names
        .slice(0, 2)
        .map(({ name, length }) => `${name} (${length})`)
        .join(' and the ')}.`,
    )
  return EXIT.pass
}

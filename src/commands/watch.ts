import { type App, formatTime, type WatchEvent } from '../app.js'
import { type Ending, EXIT, exitCode } from './exit-code.js'
import { ladderLines } from './print-ladder.js'
import { requiredWorkspace } from './required-workspace.js'
import { plain, problemLine, sayProblem } from './say-problem.js'

export interface WatchOptions {
  readonly workspace?: string
  readonly once?: boolean
  readonly json?: boolean
}

/** `burngate watch`: inspects what is dropped into the inbox until it is stopped; `--once` works the inbox off and leaves. */
export async function watchCommand(options: WatchOptions, app: App): Promise<number> {
  const { terminal } = app
  const once = options.once === true
  const workspace = await app.openWorkspace(requiredWorkspace(app, options.workspace))
  try {
    const endings: Ending[] = []
    const tell = (event: WatchEvent): void => {
      sayEvent(event, app, options.json === true)
      const ending = endingOf(event)
      if (once && ending !== null) endings.push(ending)
    }
    if (!once) terminal.say(`Watching ${workspace.paths.inbox}; stop with Ctrl-C.`)
    await workspace.watch({ once, tell })
    await workspace.writeBoard()
    if (once && endings.length === 0) terminal.say('The inbox is empty.')
    if (!once) terminal.say('Stopped.')
    terminal.say(`Board: ${workspace.paths.board}`)
    return once ? exitCode(endings) : EXIT.pass
  } finally {
    await workspace.close()
  }
}

/** How a scan ended, or null while it goes on. */
export function endingOf(event: WatchEvent): Ending | null {
  if (event.kind === 'inspected') return event.outcome.inspection.verdict
  // A ladder is read as it comes: that nothing passes yet is no failed film.
  if (event.kind === 'ladder') return event.outcome.outcome.unread.length > 0 ? 'notInspected' : 'pass'
  if (event.kind === 'rejected' || event.kind === 'held') return 'notInspected'
  return event.kind === 'fault' ? 'fault' : null
}

function sayEvent(event: WatchEvent, { terminal, now, debug }: App, json: boolean): void {
  const at = formatTime(now().toISOString()).slice(11, 16)
  if (event.kind === 'note') terminal.say(`${at}  ${plain(event.text)}`)
  else if (event.kind === 'ladder') {
    const { outcome, scans } = event.outcome
    if (json) terminal.out(JSON.stringify(outcome.json))
    const { plan, result, ages, unread, page } = outcome
    terminal.say(
      `${at}  LADDER  ${plain(plan.name)}  [${plain(event.file)}], ${scans} ${scans === 1 ? 'scan' : 'scans'} so far, ${result.missing.length} settings still missing`,
    )
    for (const line of ladderLines({ plan, result, ages }).slice(0, 2)) terminal.say(`       ${line.trim()}`)
    for (const { problem } of unread) terminal.say(`       Took no part: ${plain(problem.what)}`)
    terminal.say(`       ${page}`)
  } else if (event.kind === 'inspected') {
    const { inspection, known, report } = event.outcome
    if (json) terminal.out(JSON.stringify(inspection))
    const twice = known && !event.resumed ? ' (inspected before; the file was cleared away)' : ''
    terminal.say(
      `${at}  ${inspection.verdict.toUpperCase().padEnd(7)} ${plain(inspection.positive)}  [${[event.file, ...(event.further ?? [])].map(plain).join(', ')}]${twice}`,
    )
    const worst = inspection.findings[0]
    if (worst !== undefined && worst.verdict !== 'pass') terminal.say(`       ${plain(worst.why)}`)
    if (report !== null && inspection.verdict !== 'pass') terminal.say(`       ${report}`)
  } else if (event.kind === 'rejected') {
    if (json) terminal.out(problemLine(event.problem, event.file))
    sayProblem(terminal, event.problem, `${at}  REJECTED ${event.file}`)
  } else if (event.kind === 'held') {
    if (json) terminal.out(problemLine(event.problem, event.file))
    sayProblem(terminal, event.problem, `${at}  WAITING ${event.file} stays in the inbox`)
  } else if (event.kind === 'fault') {
    const said = event.error instanceof Error ? event.error.message : String(event.error)
    terminal.say(
      `${at}  FAULT   ${plain(event.file)}: burngate itself failed (${plain(said)}); the scan stays in the inbox`,
    )
    if (debug && event.error instanceof Error) terminal.say(event.error.stack ?? '')
  }
}

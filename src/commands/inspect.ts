import { resolve } from 'node:path'
import { type App, checkPositiveName, type InspectionOutcome, nearestName, type Workspace } from '../app.js'
import { ProblemError, problem } from '../model/problem.js'
import { type Ending, EXIT, exitCode } from './exit-code.js'
import { inspectionLines } from './print-inspection.js'
import { progressBar } from './progress-bar.js'
import { problemLine, sayProblem } from './say-problem.js'

export interface InspectOptions {
  readonly workspace?: string
  readonly jobType?: string
  readonly positive?: string
  readonly scanner?: string
  readonly out?: string
  readonly json?: boolean
  /** The separation the film was printed from. */
  readonly artwork?: string
  /** The positive was printed anew: growth is counted from this scan. */
  readonly reprint?: boolean
  /** The scans are one film at several exposures, inspected as one. */
  readonly bracket?: boolean
}

/**
 * `burngate inspect SCAN...`: each scan by itself, or with `--bracket` all of them as one film at several exposures; the scans stay where they are. In a workspace (named, or the current
 * folder) the scan is archived, reported and recorded; elsewhere the shipped job types judge it and nothing is kept,
 * unless `--out` names a folder for the report.
 */
export async function inspectCommand(scans: readonly string[], options: InspectOptions, app: App): Promise<number> {
  const { terminal } = app
  const folder = app.workspaceFolder(options.workspace)
  const bar = progressBar(terminal, scans.length)
  const onStep: Parameters<App['inspectLoose']>[1] = { onStep: (step, { name }) => bar.step(step, name) }
  const workspace = folder === null ? null : await app.openWorkspace(folder, { ...onStep, inspects: true })
  try {
    const fault = await usageFault(options, workspace, app)
    if (fault !== null) {
      bar.stop()
      if (options.json === true) terminal.out(problemLine(fault, null))
      sayProblem(terminal, fault)
      return EXIT.usage
    }
    const endings: Ending[] = []
    // Of a bracket the first scan gives the name and carries the sidecar.
    const tasks = options.bracket === true ? [scans] : scans.map(scan => [scan])
    for (const task of tasks) endings.push(await inspectOne(task, options, app, workspace, onStep, bar))
    if (workspace === null && options.json !== true && options.out === undefined)
      terminal.say(
        'Nothing was kept: this is no workspace. --out DIR writes the report, `burngate init DIR` makes one.',
      )
    return exitCode(endings)
  } finally {
    bar.stop()
    await workspace?.close()
  }
}

async function inspectOne(
  scans: readonly string[],
  options: InspectOptions,
  app: App,
  workspace: Workspace | null,
  onStep: Parameters<App['inspectLoose']>[1],
  bar: { stop(): void },
): Promise<Ending> {
  const { terminal } = app
  const scan = scans[0]!
  const { positive, jobType, scanner } = options
  const told = {
    ...(positive === undefined ? {} : { positive }),
    ...(jobType === undefined ? {} : { jobType }),
    ...(scanner === undefined ? {} : { scanner }),
    ...(options.reprint === true ? { reprint: true as const } : {}),
  }
  try {
    const inbox = workspace?.paths.inbox ?? null
    if (options.bracket === true && scans.length < 2) throw new ProblemError('BRACKET_ONE_SCAN', 'one was named')
    const alone = await app.arrivalOf(scan, told, inbox)
    const bracket = await Promise.all(scans.slice(1).map(other => app.arrivalOf(other, told, inbox)))
    const arrival = {
      ...alone,
      ...(bracket.length === 0 ? {} : { bracket }),
      ...(options.artwork === undefined ? {} : { artwork: resolve(app.cwd, options.artwork) }),
    }
    let outcome: InspectionOutcome
    if (workspace !== null) outcome = await workspace.inspect(arrival, { skipKnown: false, mayLink: false })
    else {
      const inspected = await app.inspectLoose(arrival, onStep)
      const report = options.out === undefined ? null : await app.writeLooseReport(inspected, options.out)
      outcome = { inspection: inspected.inspection, known: false, report }
    }
    bar.stop()
    if (options.json === true) terminal.out(JSON.stringify(outcome.inspection))
    else {
      for (const line of inspectionLines(outcome.inspection, outcome.report)) terminal.say(line)
      if (outcome.known) terminal.say('  The history holds this inspection already; it was not recorded a second time.')
      terminal.say('')
    }
    return outcome.inspection.verdict
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error
    bar.stop()
    if (options.json === true) terminal.out(problemLine(error.problem, scan))
    sayProblem(terminal, error.problem, scan)
    return 'notInspected'
  }
}

/** What is wrong with the command line itself, so that it is not told once for each scan. */
async function usageFault(options: InspectOptions, workspace: Workspace | null, app: App) {
  if (options.positive !== undefined)
    try {
      checkPositiveName(options.positive)
    } catch (error) {
      if (error instanceof ProblemError) return error.problem
      throw error
    }
  if (options.jobType === undefined) return null
  const shelf = await (workspace === null ? app.shippedJobTypes() : workspace.jobTypes())
  const names = [...shelf.types.keys(), ...shelf.unusable.keys()]
  if (names.includes(options.jobType)) return null
  const near = nearestName(options.jobType, names)
  return problem(
    'JOB_TYPE_UNKNOWN',
    `"${options.jobType}"${near === null ? ` (there are ${names.join(', ')})` : ` (did you mean ${near}?)`}`,
  )
}

import type { App } from '../app.js'
import type { LadderPlan, LadderResult } from '../model/ladder.js'
import { EXIT } from './exit-code.js'
import { tableLines } from './print-table.js'
import { progressBar } from './progress-bar.js'
import { plain } from './say-problem.js'

export interface LadderReadOptions {
  readonly plan: string
  readonly scanner?: string
  readonly workspace?: string
  readonly out?: string
  readonly json?: boolean
}

/**
 * `burngate ladder read SCAN... --plan PLAN`: the setting to print at. 0: one passes; 1: none does; 2: none does, and nothing failed for sure;
 * 3: a scan could not be used.
 */
export async function ladderReadCommand(
  scans: readonly string[],
  options: LadderReadOptions,
  app: App,
): Promise<number> {
  const { terminal } = app
  const bar = progressBar(terminal, scans.length)
  let outcome: Awaited<ReturnType<App['readLadder']>>
  try {
    outcome = await app.readLadder(
      { plan: options.plan, scans, scanner: options.scanner ?? null },
      {
        folder: app.workspaceFolder(options.workspace),
        ...(options.out === undefined ? {} : { out: options.out }),
        onScan: name => bar.step('measure', name),
      },
    )
  } finally {
    bar.stop()
  }
  const { plan, result, unread, notes, page, saved } = outcome
  if (options.json === true) terminal.out(JSON.stringify(outcome.json))
  for (const line of answerLines(plan, result)) terminal.say(line)
  for (const { problem } of unread) terminal.say(`  Took no part: ${plain(problem.what)}`)
  if (result.missing.length > 0)
    terminal.say(
      `  Planned and not read: ${result.missing.length} of ${plan.stocks.length * plan.modes.length * plan.levels.length} settings`,
    )
  for (const note of notes) terminal.say(`  Note: ${plain(note)}`)
  for (const file of saved) terminal.say(`  Kept as a named setting: ${file}`)
  terminal.say(`  Page: ${page}`)
  const none = result.recommended === null
  if (none && result.steps.some(step => step.verdict === 'fail')) return EXIT.fail
  if (unread.length > 0) return EXIT.notInspected
  return none ? EXIT.recheck : EXIT.pass
}

function answerLines(plan: LadderPlan, result: LadderResult): string[] {
  const { recommended, safer, saves, cheaper, closest, lookNext, perStock } = result
  const unit = plan.levelUnit === '' ? '' : ' %'
  const named = ({ stock, mode, level }: { stock: string; mode: string; level: number }) =>
    `${stock}, ${mode}, level ${level}${unit}`
  const amount = (value: number) => String(Number(value.toPrecision(3)))
  if (recommended === null)
    return [
      `NOTHING PASSES  ${plan.name}  (${plan.jobType})`,
      ...(closest === null
        ? []
        : [`  Closest is ${named(closest)}: ${plain(closest.why)}`, `  To do: ${plain(closest.advice)}`]),
    ]
  const rows = cheaper.slice(0, MOST_ROWS).map(c => [named(c), c.verdict, plain(c.why)])
  return [
    `PRINT AT  ${named(recommended)}  (${plan.jobType})`,
    ...(safer === null ? [] : [`  Next safer: ${named(safer)}`]),
    ...(saves === null
      ? []
      : [
          `  Saves ${amount(saves.minutes)} minutes and ${amount(saves.ink)} ${plan.inkPerLevel === null ? 'ink levels' : 'ml of ink'} on a hundred films, against ${named(saves.against)}`,
        ]),
    ...Object.entries(perStock)
      .filter(([stock]) => stock !== recommended.stock)
      .map(
        ([stock, { recommended: own }]) =>
          `  On ${stock}: ${own === null ? 'nothing passes' : `${own.mode}, level ${own.level}${unit}`}`,
      ),
    ...(lookNext === null ? [] : [`  Look next: ${plain(lookNext.why)}`]),
    ...(rows.length === 0
      ? []
      : ['', ...tableLines([['cheaper', 'verdict', 'why not'], ...rows], 110).map(line => `  ${line}`)]),
    ...(cheaper.length > MOST_ROWS ? [`  and ${cheaper.length - MOST_ROWS} more, on the page`] : []),
    '',
  ]
}

/** The page has all of them. */
const MOST_ROWS = 12

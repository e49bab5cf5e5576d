import type { App } from '../app.js'
import { EXIT } from './exit-code.js'
import { ladderLines } from './print-ladder.js'
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
  const { plan, result, ages, unread, notes, page, saved } = outcome
  if (options.json === true) terminal.out(JSON.stringify(outcome.json))
  for (const line of ladderLines({ plan, result, ages })) terminal.say(line)
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

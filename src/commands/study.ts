import type { App } from '../app.js'
import type { GaugeComponent, GaugeStudy, GaugeWord } from '../model/gauge-study.js'
import { ProblemError, problem } from '../model/problem.js'
import { EXIT } from './exit-code.js'
import { tableLines } from './print-table.js'
import { progressBar } from './progress-bar.js'
import { plain, problemLine, sayProblem } from './say-problem.js'

export interface StudyOptions {
  readonly reading?: string
  readonly plan?: string
  readonly toleranceFrom?: string
  readonly scanner?: string
  readonly workspace?: string
  readonly out?: string
  readonly json?: boolean
}

const WORDS: Readonly<Record<GaugeWord, { readonly word: string; readonly exit: number }>> = {
  good: { word: 'GOOD ENOUGH', exit: EXIT.pass },
  marginal: { word: 'MARGINAL', exit: EXIT.recheck },
  poor: { word: 'NOT GOOD ENOUGH', exit: EXIT.fail },
  undecided: { word: 'CANNOT TELL', exit: EXIT.recheck },
}

/** A file with a plan or values, by its name. */
const TABLE = /\.(csv|ya?ml)$/i

/**
 * `burngate study SCAN...|CSV`: whether a scanner reads one thing well enough. Of values in a table, or of scans that
 * are measured now; nothing is recorded. The page goes to the workspace's reports, or where `--out` says.
 */
export async function studyCommand(files: readonly string[], options: StudyOptions, app: App): Promise<number> {
  const { terminal } = app
  const tables = files.filter(file => TABLE.test(file))
  const fault =
    options.plan !== undefined
      ? files.length > 0
        ? 'both --plan and other files were given: name one of them'
        : null
      : files.length === 0
        ? 'no scans and no table were named'
        : tables.length > 0 && files.length > 1
          ? `${tables[0]} is a table: name it alone`
          : null
  const refuse = (found: ReturnType<typeof problem>): number => {
    if (options.json === true) terminal.out(problemLine(found, null))
    sayProblem(terminal, found)
    return EXIT.usage
  }
  if (fault !== null) return refuse(problem('STUDY_PLAN_INVALID', fault))

  const plan = options.plan ?? tables[0] ?? null
  let bar: ReturnType<typeof progressBar> | null = null
  let outcome: Awaited<ReturnType<App['study']>>
  try {
    outcome = await app.study(
      {
        plan,
        scans: plan === null ? files : [],
        reading: options.reading ?? null,
        toleranceFrom: options.toleranceFrom ?? null,
        scanner: options.scanner ?? null,
      },
      {
        folder: app.workspaceFolder(options.workspace),
        ...(options.out === undefined ? {} : { out: options.out }),
        onPlan: scans => {
          bar = progressBar(terminal, scans)
        },
        onScan: name => bar?.step('measure', name),
      },
    )
  } catch (error) {
    stop(bar)
    // What was misspelt on the command line, as `inspect` says it.
    if (error instanceof ProblemError && USAGE_PROBLEMS.has(error.problem.code)) return refuse(error.problem)
    throw error
  }
  stop(bar)

  const { study, page } = outcome
  if (options.json === true) {
    const { study: _, ...rest } = outcome
    terminal.out(JSON.stringify({ schema: 'burngate/study@1', ...rest, ...study }))
  } else {
    const about = `${plain(outcome.reading)}${outcome.gauge === null ? '' : `, ${plain(outcome.gauge)}`}`
    const size = `${study.parts.length} parts, ${study.operators.length} ${study.across}${study.operators.length === 1 ? '' : 's'}, ${study.repeats} repeats`
    terminal.say(`${WORDS[study.verdict.word].word}  ${about}  (${size})`)
    terminal.say(`  ${plain(study.verdict.why)}`)
    terminal.say(`  To do: ${plain(study.verdict.next)}`)
    terminal.say('')
    for (const line of componentLines(study)) terminal.say(`  ${line}`)
    if (study.notes.length > 0) terminal.say('')
    for (const note of study.notes) terminal.say(`  Note: ${plain(note)}`)
    terminal.say(
      page === null
        ? '  No page was written: this is no workspace. --out DIR writes it, `burngate init DIR` makes one.'
        : `  Page: ${page}`,
    )
  }
  return WORDS[study.verdict.word].exit
}

const USAGE_PROBLEMS: ReadonlySet<string> = new Set(['JOB_TYPE_UNKNOWN', 'STUDY_READING_UNKNOWN'])

function stop(bar: { stop(): void } | null): void {
  bar?.stop()
}

function componentLines(study: GaugeStudy): string[] {
  const { gauge, repeatability, reproducibility, part } = study.components
  const row = (name: string, component: GaugeComponent | null) =>
    component === null
      ? []
      : [
          [
            name,
            String(Number(component.deviation.toPrecision(3))),
            component.contributionPercent.toFixed(1),
            (component.tolerancePercent ?? component.studyVariationPercent).toFixed(1),
          ],
        ]
  return tableLines([
    ['source', 'standard deviation', '% of variance', study.room === null ? '% of spread' : '% of tolerance'],
    ...row('gauge', gauge),
    ...row('  repeatability', repeatability),
    ...row('  reproducibility', reproducibility),
    ...row('parts', part),
  ])
}

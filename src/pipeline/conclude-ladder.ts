import { readdir, readFile } from 'node:fs/promises'
import { basename, join } from 'node:path'
import { recommend } from '../ladder/recommend.js'
import { stockAges } from '../ladder/stock-ages.js'
import { GROWTH_READINGS } from '../model/growth.js'
import type { JobType } from '../model/job-type.js'
import type { EarlierStep, LadderPlan, LadderResult, StockAge } from '../model/ladder.js'
import { ProblemError } from '../model/problem.js'
import { type LimitName, READINGS, type ReadingName } from '../model/reading.js'
import type { SiteSettings } from '../model/site.js'
import { judgeLadder } from './judge-ladder.js'
import type { UnreadScan } from './ladder-samples.js'
import type { LadderScan } from './ladder-scan.js'
import { settingName } from './setting-name.js'
import { saidLater, withdrawSetting } from './withdraw-setting.js'
import { writeWhole } from './write-whole.js'

export interface ConcludeContext {
  readonly site: Pick<SiteSettings, 'shop'>
  readonly now: () => Date
  readonly software: string
  /** Where page and record go. */
  readonly reports: string
  /** Where the settings that passed are kept; null keeps none. */
  readonly settings: string | null
}

export interface LadderOutcome {
  readonly plan: LadderPlan
  readonly jobType: JobType
  readonly result: LadderResult
  /** What film stocks did since an earlier reading of the same strips; empty for a first one. */
  readonly ages: readonly StockAge[]
  readonly unread: readonly UnreadScan[]
  /** Remarks on how it was read. */
  readonly notes: readonly string[]
  /** ISO 8601: of the newest scan, and of the reading. */
  readonly scannedAt: string
  readonly at: string
  readonly scanner: string | null
  readonly software: string
  readonly page: string
  readonly record: string
  /** The record's content, `burngate/ladder@1`. */
  readonly json: object
  /** Files of named settings written. */
  readonly saved: readonly string[]
}

/**
 * Judges every combination of a ladder and answers with the setting to print at: page, record and named settings. Earlier records of the ladder
 * in the same folder tell what grew since.
 * @throws ProblemError LADDER_NOTHING_READ, FILE_NOT_WRITABLE
 */
export async function concludeLadder(
  { plan, jobType }: { readonly plan: LadderPlan; readonly jobType: JobType },
  scans: readonly LadderScan[],
  refused: readonly UnreadScan[],
  context: ConcludeContext,
): Promise<LadderOutcome> {
  const unread = [...scans.flatMap(scan => scan.unread), ...refused]
  const samples = scans.flatMap(scan => scan.samples)
  if (samples.length === 0)
    throw new ProblemError(
      'LADDER_NOTHING_READ',
      unread[0] === undefined ? 'no scan was named' : `${unread[0].file}: ${unread[0].problem.what}`,
    )
  const scannedAt = scans
    .map(scan => scan.scannedAt)
    .sort()
    .at(-1)!
  const steps = judgeLadder(samples, jobType, await earlierSteps(context.reports, plan, scannedAt))
  const result = recommend(plan, steps, jobType.limits)
  const calibration = scans[0]?.calibration ?? null
  const stem = join(context.reports, `ladder__${plan.name}__${scannedAt.slice(0, 10)}`)
  const page = `${stem}.html`
  const record = `${stem}.json`
  const withdrawn =
    context.settings === null
      ? []
      : await withdrawnNotes(context.settings, plan, result, { scannedAt, record: basename(record) })
  const outcome = {
    plan,
    jobType,
    result,
    ages: stockAges(steps, jobType.limits),
    unread,
    notes: [
      ...withdrawn,
      ...calibrationNotes(scans),
      ...scans.flatMap(scan => scan.notes),
      ...countNotes(plan, result),
      ...notAskedNotes(result, jobType),
    ],
    scannedAt,
    at: context.now().toISOString(),
    scanner: calibration?.scanner ?? null,
    software: context.software,
  }
  const { ladderPage } = await import('../report/ladder-page.js')
  const json = ladderRecord(outcome)
  const saved: string[] = []
  if (context.settings !== null) {
    const { namedSettings } = await import('./named-settings.js')
    for (const { name, text } of namedSettings({ ...outcome, record: basename(record) })) {
      const file = join(context.settings, `${name}.yaml`)
      if (await saidLater(file, scannedAt)) continue
      await writeWhole(file, text)
      saved.push(file)
    }
  }
  await writeWhole(record, `${JSON.stringify(json)}\n`)
  await writeWhole(
    page,
    ladderPage({
      ...outcome,
      unread: outcome.unread.map(({ file, problem }) => ({ file, ...problem })),
      shop: context.site.shop,
      deepest: calibration?.deepest ?? null,
    }),
  )
  return { ...outcome, page, record, json, saved }
}

/** Settings proved by an earlier reading on stocks of which nothing passes now. */
async function withdrawnNotes(
  settings: string,
  plan: LadderPlan,
  { perStock, steps }: LadderResult,
  read: { readonly scannedAt: string; readonly record: string },
): Promise<string[]> {
  const notes: string[] = []
  for (const stock of plan.stocks) {
    if (perStock[stock]?.recommended != null) continue
    const name = settingName(plan, stock)
    const note = await withdrawSetting(join(settings, `${name}.yaml`), name, steps, read)
    if (note !== null) notes.push(note)
  }
  return notes
}

function calibrationNotes(scans: readonly LadderScan[]): string[] {
  const calibrations = new Set(scans.map(({ calibration }) => calibration?.calibratedAt ?? 'none'))
  return calibrations.size > 1
    ? [
        `The scans were read with ${calibrations.size} different calibrations; what sets those apart is in the differences between settings.`,
      ]
    : []
}

/** What older records of this ladder say of its combinations; a record that cannot be read says nothing. */
async function earlierSteps(reports: string, plan: LadderPlan, scannedAt: string): Promise<EarlierStep[]> {
  const stem = `ladder__${plan.name}__`
  const names = (await readdir(reports).catch(() => [])).filter(
    name =>
      name.startsWith(stem) &&
      /^\d{4}-\d\d-\d\d\.json$/.test(name.slice(stem.length)) &&
      name.slice(stem.length, -5) < scannedAt.slice(0, 10),
  )
  const found: EarlierStep[] = []
  for (const name of names) {
    try {
      const { combinations, scannedAt: at } = JSON.parse(await readFile(join(reports, name), 'utf8')) as {
        combinations: Omit<EarlierStep, 'scannedAt'>[]
        scannedAt: string
      }
      for (const { stock, mode, level, readings } of combinations)
        found.push({ stock, mode, level, readings, scannedAt: at })
    } catch {
      // Damaged or of another hand: the ladder is read as if for the first time.
    }
  }
  return found
}

/** The record of the contract, `burngate/ladder@1`. */
function ladderRecord(outcome: Omit<LadderOutcome, 'page' | 'record' | 'json' | 'saved'>): object {
  const { plan, result, ages, unread, notes, scannedAt, at, scanner, software } = outcome
  const { steps, missing, recommended, safer, cheaper, saves, closest, lookNext, perStock, bestStock, lines } = result
  return {
    schema: 'burngate/ladder@1',
    name: plan.name,
    jobType: plan.jobType,
    combinations: steps.map(({ stock, mode, level, verdict, readings, why, spread, samples }) => ({
      stock,
      mode,
      level,
      verdict,
      readings: Object.fromEntries(
        Object.entries(readings).map(([name, { value, unit, expanded, bound, n }]) => [
          name,
          { value, unit, expanded, bound, n },
        ]),
      ),
      why,
      spread,
      samples,
    })),
    recommended,
    safer,
    cheaper,
    saves,
    closest,
    lookNext,
    perStock,
    bestStock,
    knees: lines.map(({ stock, mode, knee }) => ({ stock, mode, ...knee })),
    ages,
    missing,
    unread: unread.map(({ file, problem }) => ({ file, ...problem })),
    notes,
    scannedAt,
    at,
    scanner,
    software,
  }
}

/** Limits that a setting named as passing was not asked, for want of a reading: nobody may take them for met. Growth is asked after weeks. */
function notAskedNotes({ recommended, safer, perStock, steps }: LadderResult, jobType: JobType): string[] {
  const named = [recommended, safer, ...Object.values(perStock).map(answer => answer.recommended)]
  const chosen = steps.filter(step =>
    named.some(one => one !== null && one.stock === step.stock && one.mode === step.mode && one.level === step.level),
  )
  return chosen.flatMap(({ stock, mode, level, findings }) => {
    const unasked = (Object.keys(jobType.limits) as LimitName[]).filter(
      name =>
        !(GROWTH_READINGS as readonly string[]).includes(name) &&
        (jobType.limits[name]?.min !== undefined || jobType.limits[name]?.max !== undefined) &&
        !findings.some(finding => finding.reading === name),
    )
    return unasked.length === 0
      ? []
      : [
          `${stock}, ${mode}, level ${level} passes without ${unasked.map(name => (name in READINGS ? READINGS[name as ReadingName].label.toLowerCase() : name)).join(', ')}: that could not be read on it, so its limit was not asked. Where its ink is darker than the scanner tells, the next lower levels show how the mode bands.`,
        ]
  })
}

/** Combinations read more or less often than the plan prints them: all count as repeats, and a reader should know. */
function countNotes(plan: LadderPlan, { steps }: LadderResult): string[] {
  const times = (n: number) => (n === 1 ? 'once' : `${n} times`)
  return steps.flatMap(({ stock, mode, level, samples }) =>
    samples.length === plan.repeats
      ? []
      : [
          `${stock}, ${mode}, level ${level} was read ${times(samples.length)} where the plan prints it ${times(plan.repeats)}${samples.length > 1 ? ': all count, as repeats' : ''}.`,
        ],
  )
}

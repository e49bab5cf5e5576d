import { readFile } from 'node:fs/promises'
import { basename, dirname, join, resolve } from 'node:path'
import PQueue from 'p-queue'
import type { ScanArrival } from '../model/arrival.js'
import type { GaugeStudy, StudyPlace, StudyTolerance, StudyValue } from '../model/gauge-study.js'
import type { JobType } from '../model/job-type.js'
import type { Doubt } from '../model/measured.js'
import { ProblemError } from '../model/problem.js'
import { READINGS, type ReadingName } from '../model/reading.js'
import { nearestName } from '../settings/nearest-name.js'
import { gaugeStudy } from '../trend/gauge-study.js'
import { parseStudyPlan, type StudyPlan, studyPlanFromFiles, studyValues } from '../trend/study-plan.js'
import { studyLayout } from '../trend/study-table.js'
import { hashFile } from './hash-file.js'
import { type InspectContext, type InspectedScan, inspectScan } from './inspect-scan.js'
import { writeWhole } from './write-whole.js'

/** What a study is asked to do. */
export interface StudyTask {
  /** A file with the plan or the values; null when the scans' names are the plan. */
  readonly plan: string | null
  /** Scans named `<part>__<placement>__<repeat>.<ext>`; none with a plan. */
  readonly scans: readonly string[]
  /** Which reading, or which column of values; null when there is only one. */
  readonly reading: string | null
  /** Job type whose limits are the tolerance; null for none. */
  readonly toleranceFrom: string | null
  /** The scanner, before whatever sidecars and files say; null to let them. */
  readonly scanner: string | null
}

export interface StudyContext extends Omit<InspectContext, 'store' | 'onStep'> {
  /** Folder that paths of the task start from. */
  readonly cwd: string
  readonly arrivalOf: (file: string, told: ScanArrival['told']) => Promise<ScanArrival>
  /** Told of each scan before it is measured. */
  readonly onScan?: (name: string) => void
  /** How many scans there are to measure, once that is known. */
  readonly onPlan?: (scans: number) => void
  /** Where the page goes; null when none is wanted. */
  readonly reports: string | null
}

/** One scan of a study and what it read. */
interface StudyScan extends StudyValue {
  readonly file: string
  readonly sha256: string
}

export interface StudyOutcome {
  readonly study: GaugeStudy
  readonly reading: string
  /** What was studied, e.g. `scanner flatbed-a`; null when the values came as a table. */
  readonly gauge: string | null
  readonly source: string
  readonly toleranceFrom: string | null
  /** ISO 8601. */
  readonly at: string
  /** Null when the values came as a table. */
  readonly scans: readonly StudyScan[] | null
  /** Path of the page; null when none was written. */
  readonly page: string | null
  readonly software: string
}

/**
 * A gauge study from a table of values or from scans, which are measured as `inspect` would and recorded nowhere.
 * Everything that can be refused without measuring is refused before the first scan is opened. Scans that cannot be used are left out
 * where the rest stays balanced, and all named at once where it does not.
 * @throws ProblemError STUDY_*, JOB_TYPE_UNKNOWN, SETTINGS_INVALID, and whatever keeps a scan from being inspected
 */
export async function runStudy(task: StudyTask, context: StudyContext): Promise<StudyOutcome> {
  const planFile = task.plan === null ? null : resolve(context.cwd, task.plan)
  const plan = planFile === null ? studyPlanFromFiles(task.scans) : await planOf(planFile)
  const reading = readingOf(plan, task.reading)
  const tolerance = task.toleranceFrom === null ? null : toleranceOf(task.toleranceFrom, reading, context)
  const measured =
    plan.kind === 'scans'
      ? await measureScans(plan.rows, reading as ReadingName, task, planFile, context)
      : { values: studyValues(plan, plan.readings.includes(reading) ? reading : undefined), scans: null }
  const worked = gaugeStudy(measured.values, { across: plan.across, ...(tolerance === null ? {} : { tolerance }) })
  const remarks = measured.scans === null ? [] : measured.remarks
  const outcome = {
    study: { ...worked, notes: [...worked.notes, ...remarks] },
    reading,
    gauge: measured.scans === null ? null : measured.gauge,
    source:
      planFile === null
        ? `${measured.values.length} scans`
        : measured.scans === null
          ? basename(planFile)
          : `${measured.values.length} scans named by ${basename(planFile)}`,
    toleranceFrom: task.toleranceFrom,
    at: context.now().toISOString(),
    scans: measured.scans,
    software: context.software,
  }
  if (context.reports === null) return { ...outcome, page: null }
  const { studyPage } = await import('../report/study-page.js')
  const page = join(context.reports, `${studyName(reading, outcome.at)}.html`)
  await writeWhole(page, studyPage({ ...outcome, shop: context.site.shop }))
  return { ...outcome, page }
}

async function planOf(file: string): Promise<StudyPlan> {
  try {
    return parseStudyPlan(await readFile(file, 'utf8'), basename(file))
  } catch (error) {
    if (error instanceof ProblemError) throw error
    const { code } = error as NodeJS.ErrnoException
    throw code === 'ENOENT' || code === 'ENOTDIR'
      ? new ProblemError('FILE_MISSING', file)
      : new ProblemError('FILE_NOT_READABLE', `${file}: ${code}`)
  }
}

/**
 * The name of what is studied. Scans hold every reading, so one must be named. In a table the only column needs no name,
 * and one that is called `value` holds whatever reading is named.
 */
function readingOf(plan: StudyPlan, asked: string | null): string {
  const names = Object.keys(READINGS)
  if (plan.kind === 'values') {
    if (asked !== null && !plan.readings.includes(asked) && plan.readings.join() === 'value' && names.includes(asked))
      return asked
    // Refuses a name that is not there, and no name where there are several columns.
    studyValues(plan, asked ?? undefined)
    return asked ?? plan.readings[0]!
  }
  if (asked !== null && names.includes(asked)) return asked
  const near = asked === null ? null : nearestName(asked, names)
  throw new ProblemError(
    'STUDY_READING_UNKNOWN',
    asked === null
      ? `named, and scans have several: ${names.join(', ')}`
      : `"${asked}"; ${near === null ? `there are ${names.join(', ')}` : `did you mean ${near}?`}`,
  )
}

/** Limits of a job type on one reading; none of them when it sets none. */
function toleranceOf(name: string, reading: string, { jobTypes }: StudyContext): StudyTolerance {
  const jobType = jobTypes.types.get(name)
  if (jobType === undefined) {
    const names = [...jobTypes.types.keys(), ...jobTypes.unusable.keys()]
    const near = nearestName(name, names)
    throw (
      jobTypes.unusable.get(name) ??
      new ProblemError(
        'JOB_TYPE_UNKNOWN',
        `"${name}"${near === null ? ` (there are ${names.join(', ')})` : ` (did you mean ${near}?)`}`,
      )
    )
  }
  const limits: JobType['limits'] = jobType.limits
  const { min, max, aim } = Object.hasOwn(limits, reading) ? limits[reading as ReadingName]! : {}
  if (min !== undefined && max !== undefined && !(min < max))
    throw new ProblemError(
      'SETTINGS_INVALID',
      `job type ${name} limits.${reading}: min and max are both ${min}, which leaves no room to hold a gauge against`,
    )
  return {
    ...(min === undefined ? {} : { min }),
    ...(max === undefined ? {} : { max }),
    ...(aim === undefined ? {} : { aim }),
  }
}

async function measureScans(
  rows: readonly (StudyPlace & { readonly file: string })[],
  reading: ReadingName,
  task: StudyTask,
  planFile: string | null,
  context: StudyContext,
): Promise<{ values: readonly StudyValue[]; scans: readonly StudyScan[]; gauge: string; remarks: readonly string[] }> {
  studyLayout(rows)
  const from = planFile === null ? context.cwd : dirname(planFile)
  const files = rows.map(row => ({ ...row, path: resolve(from, row.file) }))
  const hashes = new Map<string, string>()
  const hashed = []
  const bad: BadScan[] = []
  for (const row of files) {
    const hash = await orProblem(row.file, () => hashFile(row.path))
    if (hash instanceof ProblemError) {
      bad.push({ file: row.file, error: hash })
      continue
    }
    const before = hashes.get(hash.sha256)
    // A copy would show no scatter at all, and so a scanner better than it is.
    if (before !== undefined)
      throw new ProblemError('STUDY_VALUE_TWICE', `${before} and ${row.file} hold the very same scan`)
    hashes.set(hash.sha256, row.file)
    hashed.push({ ...row, hash })
  }

  // A name that is not there is a slip in the list: nothing is measured before it is known whether the rest will do.
  if (bad.length > 0) leaveOut(bad, hashed)

  // One job type for all: the fringe is read between densities that the job type sets.
  const { defaultJobType, workers } = context.site
  const jobType = task.toleranceFrom ?? (context.jobTypes.types.has(defaultJobType) ? defaultJobType : null)
  const told = {
    // The plan says which part a scan is of; nothing is recorded under this name.
    positive: 'study',
    ...(task.scanner === null ? {} : { scanner: task.scanner }),
    ...(jobType === null ? {} : { jobType }),
  }
  context.onPlan?.(rows.length)
  const queue = new PQueue({ concurrency: workers })
  try {
    const outcomes = await queue.addAll(
      hashed.map(
        row => () =>
          orProblem(row.file, async () => {
            context.onScan?.(basename(row.file))
            const scan = await inspectScan(
              await context.arrivalOf(row.path, told),
              { ...context, store: null },
              false,
              row.hash,
            )
            if (!('inspection' in scan)) throw new Error('a study has no history to know a scan from')
            return { row, scan, value: readingValue(scan, reading, row.file) }
          }),
      ),
    )
    const inspected = []
    for (const [i, outcome] of outcomes.entries()) {
      if (outcome instanceof ProblemError) bad.push({ file: hashed[i]!.file, error: outcome })
      else inspected.push(outcome)
    }
    const leftOut =
      bad.length === 0
        ? []
        : leaveOut(
            bad,
            inspected.map(({ row }) => row),
          )
    const scans = inspected.map(({ row: { part, operator, repeat, file, hash }, value }) => ({
      part,
      operator,
      repeat,
      value,
      file,
      sha256: hash.sha256,
    }))
    const seen = inspected.map(({ row, scan }) => ({ file: row.file, scan }))
    return { values: scans, scans, gauge: gaugeOf(seen), remarks: [...leftOut, ...remarksOf(seen)] }
  } finally {
    // After a refusal: what is being measured is waited for, the rest is left.
    queue.clear()
    await queue.onIdle()
  }
}

interface BadScan {
  readonly file: string
  readonly error: ProblemError
}

/**
 * What is said of scans that cannot be used when the rest is still a crossed and balanced study.
 * @throws ProblemError that names every one of them when it is not: the code of the first
 */
function leaveOut(bad: readonly BadScan[], rest: readonly StudyPlace[]): readonly string[] {
  try {
    studyLayout(rest)
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error
    const [first] = bad
    if (bad.length === 1) throw first!.error
    const { code } = first!.error.problem
    const what = `${bad.length} scans cannot be used: ${bad.map(({ error: e }) => e.problem.what).join('; ')}`
    const next = [...new Set(bad.map(({ error: e }) => e.problem.next))].join('; ')
    throw Object.assign(new ProblemError(code), { problem: { code, what, next }, message: `${code}: ${what}; ${next}` })
  }
  return bad.map(({ error }) => `Left out, and the rest is still balanced: ${error.problem.what}.`)
}

function readingValue({ measured }: InspectedScan, name: ReadingName, file: string): number {
  const { label, unit } = READINGS[name]
  const reading = measured.readings[name]
  if (reading === undefined) {
    const because = measured.notMeasured.find(missing => missing.reading === name)?.because
    throw new ProblemError(
      'STUDY_VALUE_INVALID',
      `${file}: ${label} was not measured${because === undefined ? '' : `: ${because}`}`,
    )
  }
  if (reading.bound !== null)
    throw new ProblemError(
      'STUDY_VALUE_INVALID',
      `${file}: ${label} is only known to be at ${reading.bound === 'atLeast' ? 'least' : 'most'} ${reading.value} ${unit}, and a bound does not scatter as a reading does`,
    )
  return reading.value
}

interface SeenScan {
  readonly file: string
  readonly scan: InspectedScan
}

function gaugeOf(seen: readonly SeenScan[]): string {
  const names = [...new Set(seen.map(({ scan }) => scan.calibration?.scanner ?? null))]
  const known = names.filter(name => name !== null)
  if (known.length === 0) return 'a scanner without calibration'
  return `scanner${known.length > 1 ? 's' : ''} ${known.join(', ')}${known.length < names.length ? ' and one without calibration' : ''}`
}

/** What a reader of the study must know of its scans: each doubt once, and whether they share one calibration. */
function remarksOf(seen: readonly SeenScan[]): readonly string[] {
  const remarks: string[] = []
  const calibrations = new Set(
    seen.map(({ scan: { calibration } }) =>
      calibration === null ? 'none' : JSON.stringify([calibration.scanner, calibration.calibratedAt, calibration.scan]),
    ),
  )
  if (calibrations.size > 1)
    remarks.push(
      `The scans were read with ${calibrations.size} different calibrations; what sets those apart is in the scatter.`,
    )
  const doubts = new Map<Doubt['code'], { doubt: Doubt; files: string[] }>()
  for (const { file, scan } of seen)
    for (const doubt of scan.measured.doubts) {
      const known = doubts.get(doubt.code) ?? { doubt, files: [] }
      known.files.push(basename(file))
      doubts.set(doubt.code, known)
    }
  for (const { doubt, files } of doubts.values())
    remarks.push(
      `${files.length === seen.length ? 'Every scan' : files.length === 1 ? files[0] : `${files.length} of ${seen.length} scans`}: ${doubt.why}`,
    )
  return remarks
}

/** The work on one scan, or what is wrong with the scan, told with its name. */
async function orProblem<T>(file: string, work: () => Promise<T>): Promise<T | ProblemError> {
  try {
    return await work()
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error
    if (error.problem.what.includes(file)) return error
    const { code, what, next } = error.problem
    const named = { code, what: `${file}: ${what}`, next }
    return Object.assign(new ProblemError(code), { problem: named, message: `${code}: ${named.what}; ${next}` })
  }
}

/** File name of a study's page: `study__<reading>__<time>`, the reading in plain letters. */
function studyName(reading: string, at: string): string {
  const slug = reading
    .replace(/[^A-Za-z0-9.-]+/g, '-')
    .replace(/^[.-]+|[.-]+$/g, '')
    .slice(0, 60)
  return `study__${slug === '' ? 'value' : slug}__${at.replace(/\.\d+Z$/, 'Z').replace(/[-:]/g, '')}`
}

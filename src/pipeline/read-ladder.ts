import { basename, join, resolve } from 'node:path'
import PQueue from 'p-queue'
import { recommend } from '../ladder/recommend.js'
import type { ScanArrival } from '../model/arrival.js'
import type { Calibration } from '../model/calibration.js'
import type { JobType } from '../model/job-type.js'
import type { LadderPlan, LadderResult, LadderSample } from '../model/ladder.js'
import type { LadderRequest } from '../model/measured.js'
import { ProblemError } from '../model/problem.js'
import { hashFile } from './hash-file.js'
import { type InspectContext, inspectScan } from './inspect-scan.js'
import { judgeLadder } from './judge-ladder.js'
import { ladderSamples, type UnreadScan } from './ladder-samples.js'
import { planLadder } from './plan-ladder.js'
import { writeWhole } from './write-whole.js'

export interface LadderReadTask {
  readonly plan: string
  readonly scans: readonly string[]
  /** The scanner, before whatever sidecars and files say; null to let them. */
  readonly scanner: string | null
}

export interface LadderReadContext extends Omit<InspectContext, 'store' | 'onStep'> {
  /** Folder that paths of the task start from. */
  readonly cwd: string
  readonly arrivalOf: (file: string, told: ScanArrival['told']) => Promise<ScanArrival>
  readonly onScan?: (name: string) => void
  /** Where page and record go. */
  readonly reports: string
  /** Where the settings that passed are kept; null keeps none. */
  readonly settings: string | null
}

export interface LadderOutcome {
  readonly plan: LadderPlan
  readonly jobType: JobType
  readonly result: LadderResult
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
 * Reads the scans of an ink ladder, each as `inspect` would, judges every combination and answers with the setting to print at.
 * A scan that cannot be used is listed with its reason; the rest goes on. Nothing goes into the history.
 * @throws ProblemError see `planLadder`; LADDER_NOTHING_READ with the first reason when no scan is left
 */
export async function readLadder(task: LadderReadTask, context: LadderReadContext): Promise<LadderOutcome> {
  const { plan, jobType } = await planLadder(resolve(context.cwd, task.plan), context.jobTypes)
  const read = await readScans(task, plan, context)
  if (read.samples.length === 0)
    throw new ProblemError(
      'LADDER_NOTHING_READ',
      read.unread[0] === undefined ? 'no scan was named' : `${read.unread[0].file}: ${read.unread[0].problem.what}`,
    )
  const result = recommend(plan, judgeLadder(read.samples, jobType), jobType.limits)
  const at = context.now().toISOString()
  const outcome = {
    plan,
    jobType,
    result,
    unread: read.unread,
    notes: [...read.notes, ...countNotes(plan, result)],
    scannedAt: read.scannedAt,
    at,
    scanner: read.calibration?.scanner ?? null,
    software: context.software,
  }
  const stem = join(context.reports, `ladder__${plan.name}__${read.scannedAt.slice(0, 10)}`)
  const { ladderPage } = await import('../report/ladder-page.js')
  const page = `${stem}.html`
  await writeWhole(
    page,
    ladderPage({
      ...outcome,
      unread: outcome.unread.map(({ file, problem }) => ({ file, ...problem })),
      shop: context.site.shop,
      deepest: read.calibration?.deepest ?? null,
    }),
  )
  const record = `${stem}.json`
  const json = ladderRecord(outcome)
  await writeWhole(record, `${JSON.stringify(json)}\n`)
  const saved: string[] = []
  if (context.settings !== null) {
    const { namedSettings } = await import('./named-settings.js')
    for (const { name, text } of namedSettings({ ...outcome, record: basename(record) })) {
      const file = join(context.settings, `${name}.yaml`)
      await writeWhole(file, text)
      saved.push(file)
    }
  }
  return { ...outcome, page, record, json, saved }
}

/** The record of the contract, `burngate/ladder@1`. */
function ladderRecord(outcome: Omit<LadderOutcome, 'page' | 'record' | 'json' | 'saved'>): object {
  const { plan, result, unread, notes, scannedAt, at, scanner, software } = outcome
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
    missing,
    unread: unread.map(({ file, problem }) => ({ file, ...problem })),
    notes,
    scannedAt,
    at,
    scanner,
    software,
  }
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

interface ReadScans {
  readonly samples: readonly LadderSample[]
  readonly unread: readonly UnreadScan[]
  readonly notes: readonly string[]
  readonly scannedAt: string
  readonly calibration: Calibration | null
}

async function readScans(task: LadderReadTask, plan: LadderPlan, context: LadderReadContext): Promise<ReadScans> {
  const request: LadderRequest =
    plan.patches === null
      ? { kind: 'whole' }
      : { kind: 'patches', count: plan.patches.count, pitchMm: plan.patches.pitchMm }
  const told = {
    // The plan says what a scan shows; nothing is recorded under this name.
    positive: 'ladder',
    jobType: plan.jobType,
    ...(task.scanner === null ? {} : { scanner: task.scanner }),
  }
  const measure: InspectContext['measure'] = asked => context.measure({ ...asked, ladder: request })
  const hashes = new Map<string, string>()
  const queue = new PQueue({ concurrency: context.site.workers })
  const outcomes = await queue.addAll(
    task.scans.map(file => async () => {
      try {
        const path = resolve(context.cwd, file)
        const hashed = await hashFile(path)
        const before = hashes.get(hashed.sha256)
        if (before !== undefined)
          throw new ProblemError('LADDER_SCAN_TWICE', `${basename(file)} and ${before} are the very same scan`)
        hashes.set(hashed.sha256, basename(file))
        context.onScan?.(basename(file))
        const arrival = await context.arrivalOf(path, told)
        const scan = await inspectScan(arrival, { ...context, measure, store: null }, false, hashed)
        if (!('inspection' in scan)) throw new Error('a ladder has no history to know a scan from')
        return { file, ...ladderSamples(basename(file), scan.measured, arrival, plan), scan }
      } catch (error) {
        if (!(error instanceof ProblemError)) throw error
        return { file, samples: [], unread: [{ file: basename(file), problem: error.problem }], notes: [], scan: null }
      }
    }),
  )
  const scans = outcomes.flatMap(({ scan }) => scan ?? [])
  const calibrations = new Set(scans.map(({ calibration }) => calibration?.calibratedAt ?? 'none'))
  return {
    samples: outcomes.flatMap(({ samples }) => samples),
    unread: outcomes.flatMap(({ unread }) => unread),
    notes: [
      ...(calibrations.size > 1
        ? [
            `The scans were read with ${calibrations.size} different calibrations; what sets those apart is in the differences between settings.`,
          ]
        : []),
      ...outcomes.flatMap(({ notes }) => notes),
      ...new Set(scans.flatMap(({ measured }) => (measured.ladder ?? []).flatMap(part => part.notes))),
    ],
    scannedAt:
      scans
        .map(({ inspection }) => inspection.scannedAt)
        .sort()
        .at(-1) ?? context.now().toISOString(),
    calibration: scans[0]?.calibration ?? null,
  }
}

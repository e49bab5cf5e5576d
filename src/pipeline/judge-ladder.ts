import { grownReadings } from '../compare/grown-readings.js'
import { judgeScan } from '../judge/judge-scan.js'
import { averageRepeats } from '../ladder/average-repeats.js'
import { belowUnread } from '../ladder/below-unread.js'
import { daysBetween, FEWEST_DAYS, splitByAge } from '../ladder/split-by-age.js'
import { GROWTH_READINGS } from '../model/growth.js'
import type { Finding } from '../model/inspection.js'
import type { JobType } from '../model/job-type.js'
import type { EarlierStep, LadderReadings, LadderSample, LadderStep } from '../model/ladder.js'
import type { Doubt, MeasuredScan } from '../model/measured.js'
import type { NotMeasured } from '../model/reading.js'

/**
 * The combinations of a ladder, judged as films are: repeats averaged first. A setting whose mean passes while one of its prints
 * fails by itself is a recheck: the next film may be that one. Of a combination that was read again after a week or more the newest
 * reading counts, and what grew since the oldest is judged with it.
 * @param earlier what records of this ladder say
 */
export function judgeLadder(
  samples: readonly LadderSample[],
  jobType: JobType,
  earlier: readonly EarlierStep[] = [],
): readonly LadderStep[] {
  const groups = new Map<string, LadderSample[]>()
  for (const sample of samples) {
    const key = `${sample.stock}__${sample.mode}__${sample.level}`
    const group = groups.get(key)
    if (group === undefined) groups.set(key, [sample])
    else group.push(sample)
  }
  return belowUnread(
    [...groups.values()].map(group => stepOf(group, jobType, earlier)),
    jobType.limits,
  )
}

function stepOf(all: readonly LadderSample[], jobType: JobType, earlier: readonly EarlierStep[]): LadderStep {
  const { newest: group, oldest } = splitByAge(all)
  const { stock, mode, level, scannedAt, crop } = group[0]!
  const averaged = averageRepeats(group)
  const { spread } = averaged
  const before = [
    ...(oldest === null ? [] : [{ ...oldest[0]!, readings: averageRepeats(oldest).readings }]),
    ...earlier.filter(one => one.stock === stock && one.mode === mode && one.level === level),
  ]
    .filter(one => daysBetween(one.scannedAt, scannedAt) >= FEWEST_DAYS)
    .sort((a, b) => Date.parse(a.scannedAt) - Date.parse(b.scannedAt))[0]
  const grown = before === undefined ? NEVER_BEFORE : grownReadings(before.readings, averaged.readings)
  const readings = { ...averaged.readings, ...grown.readings }
  const notMeasured = [...averaged.notMeasured, ...grown.notMeasured]
  const doubts = new Map<string, Doubt>(
    group.flatMap(({ doubts: own }) => own.map(doubt => [doubt.code, doubt] as const)),
  )
  const judged = word(
    {
      readings,
      notMeasured,
      response: group.every(sample => sample.response === 'calibrated') ? 'calibrated' : 'unknown',
      doubts: [...doubts.values()],
    },
    jobType,
  )
  // Growth is told of the setting, not of each print.
  const alone = group.map(sample => ({
    file: sample.file,
    ...word({ ...sample, notMeasured: [...sample.notMeasured, ...NEVER_BEFORE.notMeasured] }, jobType),
  }))
  const failed = alone.filter(sample => sample.verdict === 'fail')
  const findings: readonly Finding[] =
    judged.verdict === 'pass' && failed.length > 0
      ? [
          {
            reading: failed[0]!.findings[0]!.reading,
            verdict: 'recheck',
            limit: failed[0]!.findings[0]!.limit,
            why: `${failed.length} of ${group.length} prints fails by itself (${failed[0]!.file}): ${failed[0]!.findings[0]!.why}`,
            next: 'print this setting again, and find out what was different',
          },
          ...judged.findings,
        ]
      : judged.findings
  return {
    stock,
    mode,
    level,
    verdict: findings === judged.findings ? judged.verdict : 'recheck',
    findings,
    readings,
    why: findings[0]?.why ?? '',
    samples: alone.map(({ file, verdict }) => ({ file, verdict })),
    spread,
    crop,
    age: before === undefined ? null : { since: before.scannedAt, days: daysBetween(before.scannedAt, scannedAt) },
  }
}

/** A first reading: limits on growth are not asked. */
const NEVER_BEFORE = {
  readings: {},
  notMeasured: GROWTH_READINGS.map(reading => ({
    reading,
    notAsked: true as const,
    because: 'the ladder was read for the first time',
    next: 'scan the same sheets again after some weeks and read them',
  })),
}

function word(
  part: {
    readonly readings: LadderReadings
    readonly notMeasured: readonly NotMeasured[]
    readonly response: MeasuredScan['response']
    readonly doubts: readonly Doubt[]
  },
  jobType: JobType,
): ReturnType<typeof judgeScan> {
  return judgeScan({ ...part, readings: part.readings as MeasuredScan['readings'] }, jobType)
}

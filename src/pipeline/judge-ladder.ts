import { judgeScan } from '../judge/judge-scan.js'
import { averageRepeats } from '../ladder/average-repeats.js'
import type { Finding } from '../model/inspection.js'
import type { JobType } from '../model/job-type.js'
import type { LadderReadings, LadderSample, LadderStep } from '../model/ladder.js'
import type { Doubt, MeasuredScan } from '../model/measured.js'
import type { NotMeasured } from '../model/reading.js'

/**
 * The combinations of a ladder, judged as films are: repeats averaged first. A setting whose mean passes while one of its prints
 * fails by itself is a recheck: the next film may be that one.
 */
export function judgeLadder(samples: readonly LadderSample[], jobType: JobType): readonly LadderStep[] {
  const groups = new Map<string, LadderSample[]>()
  for (const sample of samples) {
    const key = `${sample.stock}__${sample.mode}__${sample.level}`
    const group = groups.get(key)
    if (group === undefined) groups.set(key, [sample])
    else group.push(sample)
  }
  return [...groups.values()].map(group => stepOf(group, jobType))
}

function stepOf(group: readonly LadderSample[], jobType: JobType): LadderStep {
  const { stock, mode, level, crop } = group[0]!
  const { readings, notMeasured, spread } = averageRepeats(group)
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
  const alone = group.map(sample => ({ file: sample.file, ...word(sample, jobType) }))
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
  }
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

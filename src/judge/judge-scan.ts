import type { Finding, Verdict } from '../model/inspection.js'
import type { JobType, Limit } from '../model/job-type.js'
import type { Doubt, MeasuredScan } from '../model/measured.js'
import { type LimitName, READINGS, type Reading, SET_READINGS } from '../model/reading.js'
import { type Decision, judgeReading } from './judge-reading.js'
import { readingKind, withUnit, wordFinding } from './word-finding.js'

/** The order of ties: as in the reading table, so that the order of limits in a file never matters. */
const READING_ORDER: readonly string[] = [...Object.keys(READINGS), ...Object.keys(SET_READINGS)]

const VERDICT_ORDER: Readonly<Record<Verdict, number>> = { fail: 0, recheck: 1, pass: 2 }

/** What judging needs of a scan. */
export type JudgedPart = Pick<MeasuredScan, 'response' | 'readings' | 'notMeasured' | 'doubts'>

/** A finding on its way into order. Rechecks: doubts about the scan, then what was not measured, then what was close. */
interface Ranked {
  readonly finding: Finding
  readonly group: 0 | 1 | 2
  /** Larger is worse. */
  readonly severity: number
}

/**
 * The film's verdict and a finding for each limit and each doubt, worst first.
 *
 * One fail fails the film; else one recheck makes it a recheck; else it passes. A limit on a reading that nothing was given for (no
 * artwork, no control strip, no earlier scan to have grown from) is not asked: it gets no finding, so it never passes, and the film is judged by the rest. What else was not measured, a job type
 * that limits nothing, and any doubt about the whole scan are rechecks. Without a calibration nothing passes or fails.
 * Fails come by how far they are outside in units of U, rechecks by how unlikely they conform, passes by how near
 * they are to the limit. The rule for one reading is in `judgeReading`.
 * @throws RangeError when a reading carries another unit than its name has (a bug of the measurement)
 */
export function judgeScan(
  measured: JudgedPart,
  jobType: JobType,
): { readonly verdict: Verdict; readonly findings: readonly Finding[] } {
  const doubts = allDoubts(measured)
  const uncalibrated = doubts.some(doubt => doubt.code === 'uncalibrated')
  const ranked: Ranked[] = doubts.map(({ why, next }) => ({
    finding: { reading: 'scan', verdict: 'recheck', limit: null, why, next },
    group: 0,
    severity: 0,
  }))

  const limits = (Object.entries(jobType.limits) as [LimitName, Limit][]).filter(
    ([, limit]) => limit.min !== undefined || limit.max !== undefined,
  )
  if (limits.every(([name]) => isNotAsked(name, measured)))
    ranked.push({
      finding: {
        reading: 'scan',
        verdict: 'recheck',
        limit: null,
        why:
          limits.length === 0
            ? `The job type ${jobType.name} sets no limit, so there is nothing this film could pass.`
            : `The job type ${jobType.name} limits only what this scan could not be asked: what the artwork, a control strip or an earlier scan is needed for.`,
        next: `give job-types/${jobType.name}.yaml a min or max for at least one reading`,
      },
      group: 0,
      severity: 0,
    })
  for (const [name, limit] of limits) {
    const reading = (measured.readings as Partial<Record<LimitName, Reading>>)[name]
    if (isNotAsked(name, measured)) continue
    if (reading === undefined) ranked.push(notMeasured(name, limit, measured, jobType))
    else {
      const { unit } = readingKind(name)
      if (reading.unit !== unit) throw new RangeError(`${name} must be in ${unit}; got ${reading.unit}`)
      ranked.push(uncalibrated ? notCalibrated(name, limit, reading) : judged(name, limit, reading, jobType))
    }
  }

  const findings = ranked.sort(worstFirst).map(r => r.finding)
  const verdict = findings.reduce<Verdict>(
    (worst, f) => (VERDICT_ORDER[f.verdict] < VERDICT_ORDER[worst] ? f.verdict : worst),
    'pass',
  )
  return { verdict, findings }
}

/** Whether nothing was given that the reading could be taken against: then its limit neither passes nor is a recheck. */
function isNotAsked(name: LimitName, measured: JudgedPart): boolean {
  return measured.notMeasured.some(missing => missing.reading === name && missing.notAsked === true)
}

/** The limits of a job type that were not asked, for want of what they are taken against. */
export function limitsNotAsked(measured: JudgedPart, jobType: JobType): readonly LimitName[] {
  return (Object.entries(jobType.limits) as [LimitName, Limit][])
    .filter(([name, { min, max }]) => (min !== undefined || max !== undefined) && isNotAsked(name, measured))
    .map(([name]) => name)
}

/** The scan's doubts; an unknown response is one even when the measurement forgot to say so. */
function allDoubts(measured: JudgedPart): readonly Doubt[] {
  if (measured.response === 'calibrated' || measured.doubts.some(d => d.code === 'uncalibrated')) return measured.doubts
  return [
    {
      code: 'uncalibrated',
      why: 'The scanner has no calibration, so its codes cannot be turned into density.',
      next: 'calibrate the scanner with a step tablet (`burngate calibrate`), then scan again',
    },
    ...measured.doubts,
  ]
}

function judged(name: LimitName, limit: Limit, reading: Reading, jobType: JobType): Ranked {
  const decision = judgeReading(reading, limit, jobType.rule)
  return {
    finding: { reading: name, verdict: decision.verdict, limit, ...wordFinding(name, reading, limit, decision) },
    group: decision.verdict === 'recheck' && decision.undecided !== 'close' ? 1 : 2,
    severity: decision.verdict === 'pass' ? passSeverity(reading, decision) : severityOf(decision),
  }
}

/** A count within its limit says least of how near the film is to failing; a bound more, as the truth lies further inside; a number most. */
function passSeverity({ unit, bound }: Reading, decision: Decision): number {
  if (unit === 'count') return Number.NEGATIVE_INFINITY
  return bound === null ? severityOf(decision) : -Number.MAX_VALUE
}

function severityOf({ verdict, distance, conformance }: Decision): number {
  if (verdict === 'fail') return distance
  if (verdict === 'pass') return -distance
  return conformance === null ? distance : 1 - conformance
}

function notCalibrated(name: LimitName, limit: Limit, reading: Reading): Ranked {
  const { label, unit, decimals } = readingKind(name)
  const figure = reading.value.toFixed(decimals)
  const what = !Number.isFinite(reading.value)
    ? 'no usable number'
    : unit === 'D'
      ? `${figure} in code density`
      : `${withUnit(figure, unit)} with the response unknown`
  return {
    finding: {
      reading: name,
      verdict: 'recheck',
      limit,
      why: `${label} reads ${what}; without a calibration it can neither pass nor fail.`,
      next: 'calibrate the scanner with a step tablet (`burngate calibrate`), then scan again',
    },
    group: 2,
    severity: 0,
  }
}

function notMeasured(name: LimitName, limit: Limit, measured: JudgedPart, jobType: JobType): Ranked {
  const given = measured.notMeasured.find(n => n.reading === name)
  const { label } = readingKind(name)
  const later = name in SET_READINGS
  const why = given
    ? `${label} was not measured: ${given.because.replace(/\.$/, '')}.`
    : later
      ? `${label} is not something this version of burngate can measure.`
      : `${label} was not measured, and the measurement does not say why.`
  const next =
    given?.next ??
    (later
      ? `check it by eye on the light table, or take the limit out of job-types/${jobType.name}.yaml`
      : 'scan again; if it comes back, tell the makers of burngate and send the scan')
  return { finding: { reading: name, verdict: 'recheck', limit, why, next }, group: 1, severity: 0 }
}

function worstFirst(a: Ranked, b: Ranked): number {
  return (
    VERDICT_ORDER[a.finding.verdict] - VERDICT_ORDER[b.finding.verdict] ||
    a.group - b.group ||
    b.severity - a.severity ||
    READING_ORDER.indexOf(a.finding.reading) - READING_ORDER.indexOf(b.finding.reading)
  )
}

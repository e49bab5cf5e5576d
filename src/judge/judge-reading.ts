import type { Verdict } from '../model/inspection.js'
import type { JobType, Limit } from '../model/job-type.js'
import type { Reading } from '../model/reading.js'
import { conformanceProbability } from './conformance.js'

/** What one limit says of one reading. */
export interface Decision {
  readonly verdict: Verdict
  /** The end of the limit that decided, or could not be decided; null for a pass. */
  readonly end: 'min' | 'max' | null
  /** Why nothing could be decided: too close to the limit, only a bound, no usable number; null when it was. */
  readonly undecided: 'close' | 'bound' | 'unusable' | null
  /** How far from the nearest end of the limit, in units of U (of the limit itself when U is 0); 0 or more. */
  readonly distance: number
  /** Conformance probability of an interval; null for a bound or an unusable number. */
  readonly conformance: number | null
}

/**
 * Judges one reading against one limit.
 *
 * `guarded` (JCGM 106:2012 8.3.2 and ISO 14253-1, guard band w = U, clauses from memory): passes when the whole of
 * value - U to value + U lies inside [min, max], fails when the whole of it lies outside, else recheck.
 * `simple` (JCGM 106:2012 8.2): the value alone decides.
 *
 * A bound already holds its own uncertainty: `atLeast v` says the film is v or more. It passes a `min` of v or less,
 * fails a `max` below v, and decides nothing else; `atMost` is its mirror image. Both rules treat bounds alike.
 * Every comparison is written so that NaN decides nothing.
 */
export function judgeReading(
  reading: Pick<Reading, 'value' | 'expanded' | 'bound'>,
  limit: Limit,
  rule: JobType['rule'],
): Decision {
  const { value, expanded, bound } = reading
  const { min, max } = limit
  const unusable = { verdict: 'recheck', end: null, undecided: 'unusable', distance: 0, conformance: null } as const
  if (!(Number.isFinite(value) && Number.isFinite(expanded) && expanded >= 0)) return unusable
  if (!(min === undefined || Number.isFinite(min)) || !(max === undefined || Number.isFinite(max))) return unusable
  if (min === undefined && max === undefined) return unusable

  const guard = bound === null && rule === 'guarded' ? expanded : 0
  const lowest = bound === 'atMost' ? Number.NEGATIVE_INFINITY : value - guard
  const highest = bound === 'atLeast' ? Number.POSITIVE_INFINITY : value + guard
  const conformance = bound === null ? conformanceProbability(value, expanded / 2, ends(limit)) : null
  const below = min === undefined ? Number.NEGATIVE_INFINITY : (min - value) / scale(expanded, min)
  const above = max === undefined ? Number.NEGATIVE_INFINITY : (value - max) / scale(expanded, max)
  const nearer = below >= above ? 'min' : 'max'

  if (min !== undefined && highest < min)
    return { verdict: 'fail', end: 'min', undecided: null, distance: below, conformance }
  if (max !== undefined && lowest > max)
    return { verdict: 'fail', end: 'max', undecided: null, distance: above, conformance }
  const minHolds = min === undefined || lowest >= min
  const maxHolds = max === undefined || highest <= max
  if (minHolds && maxHolds)
    return { verdict: 'pass', end: null, undecided: null, distance: Math.abs(Math.max(below, above)), conformance }
  const end = minHolds ? 'max' : maxHolds ? 'min' : nearer
  const undecided = bound === null ? 'close' : 'bound'
  return { verdict: 'recheck', end, undecided, distance: Math.abs(end === 'min' ? below : above), conformance }
}

function ends({ min, max }: Limit): { min?: number; max?: number } {
  return { ...(min === undefined ? {} : { min }), ...(max === undefined ? {} : { max }) }
}

/** What a distance is measured in: U, or the size of the limit when there is no U. */
function scale(expanded: number, limit: number): number {
  if (expanded > 0) return expanded
  return limit === 0 ? 1 : Math.abs(limit)
}

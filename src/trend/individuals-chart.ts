import { rangeConstants } from './range-constants.js'

/** Control limits of single values in their order. */
export interface IndividualsChart {
  readonly mean: number
  /** Mean absolute difference of neighbours. */
  readonly movingRange: number
  /** Mean less and plus 3 standard deviations, the standard deviation from the moving range. */
  readonly lower: number
  readonly upper: number
}

/**
 * Chart of individuals: mean -+ 2.66 mean moving ranges, which is 3 standard deviations as neighbours tell them, so that a
 * slow drift does not widen its own limits (ISO 7870-2, from memory; 2.66 is 3 / d2 of a range of two, here exact:
 * 3 sqrt(pi) / 2 = 2.65868). Assumes independent values; a series that wanders trips it early.
 * @param values in the order of time, 2 or more
 * @throws RangeError for fewer, or a value that is not finite
 */
export function individualsChart(values: readonly number[]): IndividualsChart {
  if (!(values.length >= 2)) throw new RangeError(`values must be 2 or more; got ${values.length}`)
  let sum = 0
  let ranges = 0
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!
    if (!Number.isFinite(value)) throw new RangeError(`value ${i} must be finite; got ${value}`)
    sum += value
    if (i > 0) ranges += Math.abs(value - values[i - 1]!)
  }
  const mean = sum / values.length
  const movingRange = ranges / (values.length - 1)
  const reach = (3 / rangeConstants(2).d2) * movingRange
  return { mean, movingRange, lower: mean - reach, upper: mean + reach }
}

import { medianSorted, quantileSorted } from 'simple-statistics'

/** Scale of a normal distribution from the median absolute deviation: 1 / 0.6745. */
const MAD_TO_SIGMA = 1.4826

/** Median of a list; the list is not changed. Throws RangeError on an empty one. */
export function median(values: ArrayLike<number>): number {
  if (!(values.length > 0)) throw new RangeError('median needs at least one value')
  return medianSorted(Float64Array.from(values).sort() as unknown as number[])
}

/** Quantile (0..1) of a list by linear steps. */
export function quantile(values: ArrayLike<number>, share: number): number {
  if (!(values.length > 0)) throw new RangeError('quantile needs at least one value')
  return quantileSorted(Float64Array.from(values).sort() as unknown as number[], share)
}

/** Robust standard deviation: 1.4826 x median absolute deviation. */
export function robustDeviation(values: ArrayLike<number>): number {
  const centre = median(values)
  const off = new Float64Array(values.length)
  for (let i = 0; i < values.length; i++) off[i] = Math.abs(values[i]! - centre)
  return MAD_TO_SIGMA * median(off)
}

/** Mean after dropping a share (0..0.45) at each end (Tukey & McLaughlin, Sankhya A 25, 1963; from memory). */
export function trimmedMean(values: ArrayLike<number>, share: number): number {
  if (!(share >= 0 && share <= 0.45)) throw new RangeError(`share must be 0 to 0.45; got ${share}`)
  if (!(values.length > 0)) throw new RangeError('trimmedMean needs at least one value')
  const sorted = Float64Array.from(values).sort()
  const drop = Math.floor(sorted.length * share)
  let sum = 0
  for (let i = drop; i < sorted.length - drop; i++) sum += sorted[i]!
  return sum / (sorted.length - 2 * drop)
}

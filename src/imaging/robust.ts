import { quantileSorted, quickselect } from 'simple-statistics'

/** Scale of a normal distribution from the median absolute deviation: 1 / 0.6745. */
const MAD_TO_SIGMA = 1.4826

/** Median of a list; the list is not changed. Throws RangeError on an empty one. */
export function median(values: ArrayLike<number>): number {
  if (!(values.length > 0)) throw new RangeError('median needs at least one value')
  return middle(Float64Array.from(values))
}

/** Median of values that may be put in another order. */
function middle(values: Float64Array): number {
  const half = values.length >> 1
  // Selection is several times faster than sorting, but knows no order for what is no number.
  for (let i = 0; i < values.length; i++) if (Number.isNaN(values[i]!)) return ofSorted(values.sort(), half)
  quickselect(values as unknown as number[], half)
  if (values.length % 2 === 1) return values[half]!
  let below = values[0]!
  for (let i = 1; i < half; i++) if (values[i]! > below) below = values[i]!
  return (below + values[half]!) / 2
}

function ofSorted(sorted: Float64Array, half: number): number {
  return sorted.length % 2 === 1 ? sorted[half]! : (sorted[half - 1]! + sorted[half]!) / 2
}

/** Quantile (0..1) of a list by linear steps. */
export function quantile(values: ArrayLike<number>, share: number): number {
  if (!(values.length > 0)) throw new RangeError('quantile needs at least one value')
  return quantileSorted(Float64Array.from(values).sort() as unknown as number[], share)
}

/** Robust standard deviation: 1.4826 x median absolute deviation. */
export function robustDeviation(values: ArrayLike<number>): number {
  if (!(values.length > 0)) throw new RangeError('robustDeviation needs at least one value')
  const centre = median(values)
  const off = new Float64Array(values.length)
  for (let i = 0; i < values.length; i++) off[i] = Math.abs(values[i]! - centre)
  return MAD_TO_SIGMA * middle(off)
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

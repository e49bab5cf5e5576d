/**
 * Lag-1 autocorrelation: how much each value goes with the one before. Sum of products of neighbours' deviations over the sum of squares
 * (as NIST's certified univariate sets have it).
 * @param values in the order of time, 3 or more, not all alike
 * @returns -1 to 1
 * @throws RangeError for fewer, a value that is not finite, or values all alike
 */
export function lagOne(values: readonly number[]): number {
  if (!(values.length >= 3)) throw new RangeError(`values must be 3 or more; got ${values.length}`)
  const from = values[0]!
  let sum = 0
  for (let i = 0; i < values.length; i++) {
    if (!Number.isFinite(values[i]!)) throw new RangeError(`value ${i} must be finite; got ${values[i]}`)
    sum += values[i]! - from
  }
  const mean = sum / values.length
  let products = 0
  let squares = 0
  for (let i = 0; i < values.length; i++) {
    const deviation = values[i]! - from - mean
    squares += deviation * deviation
    if (i > 0) products += deviation * (values[i - 1]! - from - mean)
  }
  if (!(squares > 0)) throw new RangeError(`values must differ; got ${values.length} times ${from}`)
  return products / squares
}

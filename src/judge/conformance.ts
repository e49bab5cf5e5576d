import { errorFunction } from 'simple-statistics'

/**
 * Conformance probability: how likely the true value lies inside the limits, given the measured one.
 * @param value measured value, unit of the reading
 * @param standard standard uncertainty u = U / 2, same unit, 0 or more
 * @param limit `min`, `max` or both; with neither every value conforms
 * @returns 0 to 1, within 3e-7
 * @throws RangeError when a number is not finite or the uncertainty is negative
 * Assumes a normal distribution and no knowledge before the measurement.
 * One limit: Phi((value - min) / u), JCGM 106:2012 7.3; two: Phi((max - value) / u) - Phi((min - value) / u), 7.4.
 */
export function conformanceProbability(
  value: number,
  standard: number,
  limit: { readonly min?: number; readonly max?: number },
): number {
  if (!Number.isFinite(value)) throw new RangeError(`value must be finite; got ${value}`)
  if (!(Number.isFinite(standard) && standard >= 0))
    throw new RangeError(`standard must be finite and 0 or more; got ${standard}`)
  const { min, max } = limit
  for (const end of [min, max])
    if (end !== undefined && !Number.isFinite(end)) throw new RangeError(`a limit must be finite; got ${end}`)
  if (standard === 0) return (min === undefined || value >= min) && (max === undefined || value <= max) ? 1 : 0
  const belowMax = max === undefined ? 1 : normal((max - value) / standard)
  const belowMin = min === undefined ? 0 : normal((min - value) / standard)
  return Math.min(1, Math.max(0, belowMax - belowMin))
}

/** Standard normal distribution function. */
function normal(z: number): number {
  return 0.5 * (1 + errorFunction(z / Math.SQRT2))
}

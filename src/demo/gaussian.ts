/**
 * Standard normal distribution, written apart from imaging/ on purpose: the synthetic films must not share
 * an error with the tool that measures them.
 */

/**
 * P(Z <= z), 0..1, within 1e-14. Taylor series of the error function for |z| < 3, Lentz's continued fraction
 * beyond (Abramowitz & Stegun 7.1.6 and 7.1.14; from memory, checked against T13 of the standards tests).
 */
export function gaussianCdf(z: number): number {
  if (z > 40) return 1
  if (z < -40) return 0
  const x = Math.abs(z)
  const density = Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI)
  if (x < 3) {
    let term = x
    let sum = x
    for (let n = 3; Math.abs(term) > 1e-18 * Math.abs(sum); n += 2) {
      term *= (x * x) / n
      sum += term
    }
    return z < 0 ? 0.5 - density * sum : 0.5 + density * sum
  }
  let fraction = 0
  for (let n = 120; n >= 1; n--) fraction = n / (x + fraction)
  const tail = density / (x + fraction)
  return z < 0 ? tail : 1 - tail
}

/**
 * z with P(Z <= z) = p, by bisection to the last bit.
 * @throws RangeError unless 0 < p < 1
 */
export function gaussianQuantile(p: number): number {
  if (!(p > 0 && p < 1)) throw new RangeError(`p must lie between 0 and 1; got ${p}`)
  let low = -40
  let high = 40
  for (let i = 0; i < 80; i++) {
    const middle = (low + high) / 2
    if (gaussianCdf(middle) < p) low = middle
    else high = middle
  }
  return (low + high) / 2
}

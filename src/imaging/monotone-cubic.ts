/** A piecewise cubic through knots; see `monotoneCubic`. */
export interface MonotoneCubic {
  readonly x: readonly number[]
  readonly y: readonly number[]
  readonly slope: readonly number[]
}

/**
 * Shape-preserving piecewise cubic (PCHIP): passes through every knot and has no bump that the knots do not have, so
 * strictly monotone knots give a strictly monotone curve. Fritsch & Carlson, SIAM J. Numer. Anal. 17, 238 (1980);
 * inner slopes by the weighted harmonic mean and end slopes by the limited three-point rule of Fritsch & Butland,
 * SIAM J. Sci. Stat. Comput. 5, 300 (1984).
 * @param x strictly rising, 2 or more
 * @param y same length
 * @throws RangeError when x does not rise or the lengths differ
 */
export function monotoneCubic(x: readonly number[], y: readonly number[]): MonotoneCubic {
  const n = x.length
  if (!(n >= 2) || y.length !== n)
    throw new RangeError(`x and y must have 2 or more and equal values; got ${n}, ${y.length}`)
  const h: number[] = []
  const delta: number[] = []
  for (let i = 0; i + 1 < n; i++) {
    const step = x[i + 1]! - x[i]!
    if (!(step > 0)) throw new RangeError(`x must rise strictly; got ${x[i]} then ${x[i + 1]}`)
    h.push(step)
    delta.push((y[i + 1]! - y[i]!) / step)
  }
  if (n === 2) return { x, y, slope: [delta[0]!, delta[0]!] }
  const slope = new Array<number>(n).fill(0)
  for (let i = 1; i + 1 < n; i++) {
    const before = delta[i - 1]!
    const after = delta[i]!
    if (!(before * after > 0)) continue
    const w1 = 2 * h[i]! + h[i - 1]!
    const w2 = h[i]! + 2 * h[i - 1]!
    slope[i] = (w1 + w2) / (w1 / before + w2 / after)
  }
  slope[0] = endSlope(h[0]!, h[1]!, delta[0]!, delta[1]!)
  slope[n - 1] = endSlope(h[n - 2]!, h[n - 3]!, delta[n - 2]!, delta[n - 3]!)
  return { x, y, slope }
}

/** Value of the curve at `at`, which must lie within the knots; outside, the end's straight line goes on. */
export function evaluateMonotoneCubic(curve: MonotoneCubic, at: number): number {
  const { x, y, slope } = curve
  const last = x.length - 1
  if (at <= x[0]!) return y[0]! + slope[0]! * (at - x[0]!)
  if (at >= x[last]!) return y[last]! + slope[last]! * (at - x[last]!)
  let low = 0
  let high = last
  while (high - low > 1) {
    const mid = (low + high) >> 1
    if (x[mid]! <= at) low = mid
    else high = mid
  }
  const h = x[high]! - x[low]!
  const t = (at - x[low]!) / h
  const s = 1 - t
  return (
    y[low]! * (1 + 2 * t) * s * s +
    slope[low]! * h * t * s * s +
    y[high]! * t * t * (3 - 2 * t) -
    slope[high]! * h * t * t * s
  )
}

function endSlope(h0: number, h1: number, delta0: number, delta1: number): number {
  const slope = ((2 * h0 + h1) * delta0 - h0 * delta1) / (h0 + h1)
  if (!(slope * delta0 > 0)) return 0
  if (delta0 * delta1 < 0 && Math.abs(slope) > 3 * Math.abs(delta0)) return 3 * delta0
  return slope
}

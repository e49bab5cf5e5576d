import type { EdgeSpread } from './edge-spread.js'
import { fitPolynomial, polynomial } from './fit-polynomial.js'

export interface RiseWidth {
  /** Where the profile crosses 10 and 90 % of its change, um along the normal. */
  readonly at10: number
  readonly at90: number
  readonly width: number
  /** Standard uncertainty of the width from pixel noise and from phases not covered, um. */
  readonly standard: number
}

type Profile = Pick<
  EdgeSpread,
  'distance' | 'light' | 'count' | 'binUm' | 'clear' | 'dark' | 'clearNoise' | 'darkNoise'
>

/** Half-width of the local fit at a crossing: this share of the rise, but no less than this many bins. */
const FIT_SHARE = 0.1
const FIT_BINS = 2.5

/**
 * 10-90 % rise width of a super-sampled edge, on linear light (ISO 12233:2014 / ISO 16067-2 manner; thresholds as ISO/IEC 13660 R10 and R90).
 * Each crossing comes from a quadratic fitted to the bins around it, so a bin's own width does not add to the rise.
 * @returns um, 0 upward; undefined when the profile does not cross both levels with enough bins round them
 */
export function riseWidth(profile: Profile): RiseWidth | undefined {
  const middle = crossing(profile, 0.5, FIT_BINS * profile.binUm, 0)
  if (middle === undefined) return undefined
  const near = (level: number, half: number) => crossing(profile, level, half, middle.at)
  let half = FIT_BINS * profile.binUm
  let low = near(0.1, half)
  let high = near(0.9, half)
  if (low === undefined || high === undefined) return undefined
  half = Math.max(half, FIT_SHARE * (high.at - low.at))
  low = near(0.1, half) ?? low
  high = near(0.9, half) ?? high
  const width = high.at - low.at
  if (!(width > 0)) return undefined
  return { at10: low.at, at90: high.at, width, standard: Math.hypot(low.standard, high.standard) }
}

/** Where the profile crosses `level` (0..1 of its change), walking outwards from `start`. */
function crossing(
  profile: Profile,
  level: number,
  half: number,
  start: number,
): { at: number; standard: number } | undefined {
  const { distance, light, count } = profile
  const change = profile.clear - profile.dark
  const wanted = profile.dark + level * change
  let k = Math.min(firstFrom(distance, start), distance.length - 1)
  // From inside the rise outwards, so that a speck on the plateau is not taken for the crossing.
  if (level >= 0.5) {
    while (k > 0 && light[k]! > wanted) k--
    while (k < distance.length - 1 && light[k + 1]! < wanted) k++
  } else {
    while (k < distance.length - 2 && light[k]! < wanted) k++
    while (k > 0 && light[k]! > wanted) k--
  }
  const a = distance[k]!
  const b = distance[Math.min(k + 1, distance.length - 1)]!
  const la = light[k]!
  const lb = light[Math.min(k + 1, distance.length - 1)]!
  if (!(lb > la)) return undefined
  const guess = a + ((wanted - la) / (lb - la)) * (b - a)

  let reach = half
  for (let attempt = 0; attempt < 6; attempt++, reach *= 1.35) {
    // Distances rise, so the bins within reach lie side by side.
    const from = firstFrom(distance, guess - reach)
    let to = from
    while (to < distance.length && distance[to]! <= guess + reach) to++
    const x = distance.subarray(from, to).map(d => (d - guess) / reach)
    const y = light.subarray(from, to)
    const w = count.subarray(from, to)
    if (x.length < 5 || x[0]! > -0.3 || x.at(-1)! < 0.3) continue
    const fit = fitPolynomial(x, y, w, 2)
    const [, c1, c2] = fit as [number, number, number]
    const steepness = (t: number) => c1 + 2 * c2 * t
    let at = 0
    for (let i = 0; i < 8; i++) at -= (polynomial(fit, at) - wanted) / steepness(at)
    if (!(Math.abs(at) <= 1)) continue
    const slope = steepness(at) / reach
    const pixels = w.reduce((sum, n) => sum + n, 0)
    const noise = profile.darkNoise + (profile.clearNoise - profile.darkNoise) * level
    // Scatter of the bins about the fit holds the noise, and what noise does not explain: aliasing of sparse phases, grain of the edge.
    let scatter = 0
    for (let i = 0; i < x.length; i++) scatter += (y[i]! - polynomial(fit, x[i]!)) ** 2
    scatter = Math.sqrt(scatter / Math.max(1, x.length - 3) / x.length)
    return { at: guess + at * reach, standard: (1.5 * Math.max(noise / Math.sqrt(pixels), scatter)) / slope }
  }
  return { at: guess, standard: (b - a) / 2 }
}

/** Index of the first of rising distances that is not below `from`; their number when all are. */
function firstFrom(distance: Float64Array, from: number): number {
  let low = 0
  let high = distance.length
  while (low < high) {
    const middle = (low + high) >> 1
    if (distance[middle]! < from) low = middle + 1
    else high = middle
  }
  return low
}

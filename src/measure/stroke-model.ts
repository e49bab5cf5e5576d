import { fitLeastSquares } from '../imaging/fit-least-squares.js'
import { normalCdf } from '../imaging/normal.js'

/**
 * A stroke (or the gap between two) as ink makes it: ink amount is a bar of `width` spread by a Gaussian of `sigma`; density is ink times
 * `net` above base; light is 10^-density. um, D, T. For a gap the bar is taken out of full ink.
 */
export interface StrokeModel {
  readonly kind: 'line' | 'gap'
  /** Of the unspread artwork. */
  readonly width: number
  readonly sigma: number
  readonly clear: number
  readonly net: number
}

/** Light across a stroke as the scanner shows it, both edges on one scale of distance. */
export interface StrokeProfile {
  readonly distance: Float64Array
  readonly light: Float64Array
  readonly count: Float64Array
  /** Standard deviation of one pixel. */
  readonly noise: number
  /** Where the edges were seen, um. */
  readonly width: number
}

export interface FittedStroke {
  readonly model: StrokeModel
  readonly centre: number
  /** Width of the film itself at half the light of clear film (at another level when one was asked for), um. */
  readonly halfWidth: number
  /** Standard uncertainties from the fit. */
  readonly widthError: number
  readonly sigmaError: number
  /** Root mean square departure of the profile from the model, share of clear light. */
  readonly misfit: number
  readonly seen: Float64Array
}

/** The scanner's line spread as few nodes. */
export interface LightNodes {
  readonly offsets: Float64Array
  readonly weights: Float64Array
}

/** Beyond this many sigma an edge is flat to a part in 10^13. */
const FLAT_SIGMAS = 7.5
const STEPS_A_SIGMA = 40
const TABLE_STEPS = 256
const SHARES = Float64Array.from({ length: 2 * 8 * TABLE_STEPS + 2 }, (_, i) => normalCdf(i / TABLE_STEPS - 8))
/** Departures below this share of the light are the binning's own. */
const MODEL_FLOOR = 0.0008
const LEAST_SIGMA = 1

function share(z: number): number {
  const at = (z + 8) * TABLE_STEPS
  if (at <= 0) return 0
  if (at >= SHARES.length - 1) return 1
  const k = at | 0
  const low = SHARES[k]!
  return low + (SHARES[k + 1]! - low) * (at - k)
}

/** Light of the film itself at a distance from the middle of the stroke. */
export function strokeLight(model: StrokeModel, distance: number): number {
  const { kind, width, sigma, clear, net } = model
  const bar = share((distance + width / 2) / sigma) - share((distance - width / 2) / sigma)
  return clear * 10 ** (-net * (kind === 'line' ? bar : 1 - bar))
}

/** Light that the scanner shows: the film's light under the line spread. */
export function seenStroke(
  model: StrokeModel,
  nodes: LightNodes,
  distance: Float64Array,
  centre: number,
): Float64Array {
  // The stroke is the same on both sides of its middle: one table serves both edges.
  const step = model.sigma / STEPS_A_SIGMA
  const from = Math.max(0, model.width / 2 - FLAT_SIGMAS * model.sigma)
  const size = Math.ceil((model.width / 2 + FLAT_SIGMAS * model.sigma - from) / step) + 1
  const film = new Float64Array(size + 1)
  for (let i = 0; i < size; i++) film[i] = strokeLight(model, from + i * step)
  film[size] = film[size - 1]!
  const core = film[0]!
  const outside = film[size]!
  const { offsets, weights } = nodes
  const seen = new Float64Array(distance.length)
  for (let i = 0; i < distance.length; i++) {
    let sum = 0
    for (let k = 0; k < offsets.length; k++) {
      const at = (Math.abs(distance[i]! - centre - offsets[k]!) - from) / step
      if (at <= 0) sum += weights[k]! * core
      else if (at >= size - 1) sum += weights[k]! * outside
      else {
        const whole = at | 0
        const low = film[whole]!
        sum += weights[k]! * (low + (film[whole + 1]! - low) * (at - whole))
      }
    }
    seen[i] = sum
  }
  return seen
}

/** Half of clear film's light: where widths are told unless asked otherwise. */
const HALF = 0.5

/** Width of the film's own stroke where the light is half of clear (or another share of it); null when it never falls (a gap: rises) that far. */
export function halfLightWidth(model: StrokeModel, level = HALF): number | null {
  const half = model.clear * level
  const dark = (d: number) => strokeLight(model, d) < half
  const isLine = model.kind === 'line'
  if (dark(0) !== isLine) return null
  let low = 0
  let high = model.width / 2 + FLAT_SIGMAS * model.sigma
  if (dark(high) === isLine) return null
  for (let i = 0; i < 50; i++) {
    const middle = (low + high) / 2
    if (dark(middle) === isLine) low = middle
    else high = middle
  }
  return low + high
}

/**
 * Fits the stroke to a profile through the scanner's line spread. Free: middle, width, sigma, clear light.
 * Then the crossings of half the light are corrected by what the model leaves over there, so that the width is the profile's own and only the
 * scanner's part of it comes from the model.
 * @param net density of full ink above base
 * @param start sigma to begin with, um
 * @param level share of clear film's light at which the width is told
 * @returns null when the film's light never crosses half
 */
export function fitStroke(
  kind: StrokeModel['kind'],
  profile: StrokeProfile,
  nodes: LightNodes,
  net: number,
  clear: number,
  start: number,
  level = HALF,
): FittedStroke | null {
  const sigma = Float64Array.from(profile.count, n => Math.hypot(profile.noise / Math.sqrt(n), MODEL_FLOOR * clear))
  const modelOf = (p: readonly number[]): StrokeModel => ({
    kind,
    width: Math.max(1, p[1]!),
    sigma: Math.max(LEAST_SIGMA, Math.abs(p[2]!)),
    clear: p[3]!,
    net,
  })
  const outward = kind === 'line' ? -2.6 : 2.6
  const fit = fitLeastSquares(
    p => {
      const light = seenStroke(modelOf(p), nodes, profile.distance, p[0]!)
      return Array.from(light, (value, i) => (value - profile.light[i]!) / sigma[i]!)
    },
    [0, Math.max(start, profile.width + outward * start), start, clear],
    [10, 10, Math.max(5, start), clear],
    p => p[1]! > 1 && Math.abs(p[2]!) > LEAST_SIGMA / 2 && p[3]! > 0,
  )
  const model = modelOf(fit.parameters)
  const width = halfLightWidth(model, level)
  if (width === null) return null
  const centre = fit.parameters[0]!
  const seen = seenStroke(model, nodes, profile.distance, centre)
  let squares = 0
  for (let i = 0; i < seen.length; i++) squares += (seen[i]! - profile.light[i]!) ** 2
  const inflate = Math.max(1, fit.chiSquare / Math.max(1, fit.freedom))
  // The width at half the light moves with width and sigma together.
  const covariance = fit.covariance
  const slope = sigmaSlope(model, level)
  const variance = covariance[1]![1]! + 2 * slope * covariance[1]![2]! + slope * slope * covariance[2]![2]!
  return {
    model,
    centre,
    halfWidth: width + leftOver(profile, seen, centre, model),
    widthError: Math.sqrt(Math.max(0, variance) * inflate),
    sigmaError: Math.sqrt(Math.max(0, covariance[2]![2]!) * inflate),
    misfit: Math.sqrt(squares / Math.max(1, seen.length)) / model.clear,
    seen,
  }
}

function sigmaSlope(model: StrokeModel, level: number): number {
  const h = 0.02 * model.sigma
  const up = halfLightWidth({ ...model, sigma: model.sigma + h }, level)
  const down = halfLightWidth({ ...model, sigma: model.sigma - h }, level)
  return up === null || down === null ? 0 : (up - down) / (2 * h)
}

/** Share of clear light between which a profile is steep, and how steep it must be there, share a um. */
const STEEP = { from: 0.3, to: 0.7 }

/** By how much the seen crossings of half the light lie further apart than the model's, um: 0 where the profile does not cross. */
function leftOver(profile: StrokeProfile, seen: Float64Array, centre: number, model: StrokeModel): number {
  const side = { left: { top: 0, bottom: 0 }, right: { top: 0, bottom: 0 } }
  let lowest = Number.POSITIVE_INFINITY
  let highest = 0
  for (let i = 0; i < seen.length; i++) {
    lowest = Math.min(lowest, seen[i]!)
    highest = Math.max(highest, seen[i]!)
  }
  // A stroke so narrow that the blur fills it has no crossing of its own: the model alone speaks.
  if (!(lowest < 0.15 * model.clear && highest > 0.85 * model.clear)) return 0
  for (let i = 1; i < seen.length - 1; i++) {
    const level = seen[i]! / model.clear
    if (!(level > STEEP.from && level < STEEP.to)) continue
    const apart = profile.distance[i + 1]! - profile.distance[i - 1]!
    if (!(apart > 0)) continue
    const slope = (seen[i + 1]! - seen[i - 1]!) / apart
    const sum = profile.distance[i]! < centre ? side.left : side.right
    const weight = profile.count[i]!
    // Light less than the model's: the dark side reaches further.
    sum.top += weight * (profile.light[i]! - seen[i]!) * slope
    sum.bottom += weight * slope * slope
  }
  const shift = ({ top, bottom }: { top: number; bottom: number }) => (bottom > 0 ? top / bottom : 0)
  // A profile moved by +d reads light(x - d): the difference is -slope d.
  return -shift(side.right) + shift(side.left)
}

import type { EdgeSpread } from '../imaging/edge-spread.js'
import { fitLeastSquares } from '../imaging/fit-least-squares.js'
import { normalCdf } from '../imaging/normal.js'
import { type RiseWidth, riseWidth } from '../imaging/rise-width.js'
import type { LineSpread } from '../model/calibration.js'
import { filmRise, type InkEdge } from './ink-edge.js'

/** The ink edge fitted to a seen profile through the scanner's own line spread. */
export interface FittedEdge {
  readonly ink: InkEdge
  /** Standard uncertainty of sigma from the fit. */
  readonly sigmaFit: number
  /** Change of sigma, um, for a line spread wider by its own width; for a solid denser by 1 D; for light brighter by 1 at each distance. */
  readonly sigmaPerSpread: number
  readonly sigmaPerNet: number
  readonly sigmaPerLight: Float64Array
  /** Model light at the profile's distances. */
  readonly light: Float64Array
  /** Rise width of the fitted edge as the scanner shows it, and of the film alone, um. */
  readonly seenRise: number
  readonly filmRise: number
  /** Greatest departure of the profile from the model that noise does not explain, as a share of the change. */
  readonly misfit: number
}

/** The scanner's line spread as few nodes, for quick convolution. */
export interface SpreadNodes {
  readonly offsets: Float64Array
  readonly weights: Float64Array
  /** Rise width of the spread itself, um, and its standard uncertainty. */
  readonly rise: number
  readonly riseError: number
}

/** Nodes no further apart than this, um: a tenth of the narrowest spread worth telling. */
const NODE_UM = 2.5
/** Deepest net density told apart in an edge fit; light below 10^-5 moves no edge. */
const DEEPEST_NET = 4.5
/** Residuals below this share of the change are the binning's own, not noise. */
const MODEL_FLOOR = 0.0008

/** Merges a tabulated line spread into nodes; keeps sum, centre and, to a thousandth, width. */
export function spreadNodes(spread: LineSpread, scale = 1): SpreadNodes {
  const group = Math.max(1, Math.round(NODE_UM / spread.stepUm))
  const offsets: number[] = []
  const weights: number[] = []
  const middle = (spread.weights.length - 1) / 2
  for (let i = 0; i < spread.weights.length; i += group) {
    let w = 0
    let wx = 0
    for (let k = i; k < Math.min(i + group, spread.weights.length); k++) {
      w += spread.weights[k]!
      wx += spread.weights[k]! * (k - middle) * spread.stepUm * scale
    }
    if (!(Math.abs(w) > 1e-7)) continue
    offsets.push(wx / w)
    weights.push(w)
  }
  const total = weights.reduce((sum, w) => sum + w, 0)
  return {
    offsets: Float64Array.from(offsets),
    weights: Float64Array.from(weights, w => w / total),
    rise: spread.riseWidth * scale,
    riseError: riseErrorOf(spread) * scale,
  }
}

/** Of what the method leaves on the knife edge this share is not left on the film's edge alike, and stays. */
const METHOD_STAYS = 0.4

function riseErrorOf({ riseWidthExpanded, method = 0 }: LineSpread): number {
  const standard = riseWidthExpanded / 2
  return Math.sqrt(Math.max(0, standard ** 2 - method ** 2) + (METHOD_STAYS * Math.min(method, standard)) ** 2)
}

/** A uniform pixel of `pitchUm`: the least any scanner can spread, for bounds when the scanner is unknown. */
export function pixelNodes(pitchUm: number): SpreadNodes {
  const n = Math.max(3, Math.round(pitchUm / NODE_UM))
  return {
    offsets: Float64Array.from({ length: n }, (_, i) => ((i + 0.5) / n - 0.5) * pitchUm),
    weights: new Float64Array(n).fill(1 / n),
    rise: 0.8 * pitchUm,
    riseError: 0,
  }
}

/** The film's light is tabulated this finely, parts of sigma; linear steps are then good to 4e-5 of the change. */
const STEPS_A_SIGMA = 50
/** Beyond this many sigma the ink edge is flat to a part in 10^13. */
const FLAT_SIGMAS = 7.5
/** Share of the ink at each entry of that table: the same for every edge. */
const INK_SHARES = Float64Array.from({ length: 2 * FLAT_SIGMAS * STEPS_A_SIGMA + 1 }, (_, i) =>
  normalCdf(FLAT_SIGMAS - i / STEPS_A_SIGMA),
)

/** Light that the scanner shows of an ink edge at each distance: the film's light convolved with the line spread. */
export function seenLight(ink: InkEdge, nodes: SpreadNodes, distance: Float64Array, centre: number): Float64Array {
  const step = ink.sigma / STEPS_A_SIGMA
  const size = 2 * FLAT_SIGMAS * STEPS_A_SIGMA + 1
  const film = new Float64Array(size + 1)
  // As `lightAt`, of a whole table.
  const decay = -ink.net * Math.LN10
  for (let i = 0; i < size; i++) film[i] = ink.clear * Math.exp(decay * INK_SHARES[i]!)
  film[size] = film[size - 1]!
  const dark = film[0]!
  const clear = film[size]!
  const { offsets, weights } = nodes
  const seen = new Float64Array(distance.length)
  // Most of a profile is plateau, where every node of the spread sees the same light.
  let [least, most, allDark, allClear] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, 0, 0]
  for (let k = 0; k < offsets.length; k++) {
    least = Math.min(least, offsets[k]! / step)
    most = Math.max(most, offsets[k]! / step)
    allDark += weights[k]! * dark
    allClear += weights[k]! * clear
  }
  for (let i = 0; i < distance.length; i++) {
    const from = (distance[i]! - centre) / step + FLAT_SIGMAS * STEPS_A_SIGMA
    if (from - least <= 0 || from - most >= size - 1) {
      seen[i] = from - least <= 0 ? allDark : allClear
      continue
    }
    let sum = 0
    for (let k = 0; k < offsets.length; k++) {
      const at = from - offsets[k]! / step
      if (at <= 0) sum += weights[k]! * dark
      else if (at >= size - 1) sum += weights[k]! * clear
      else {
        const whole = Math.floor(at)
        const low = film[whole]!
        sum += weights[k]! * (low + (film[whole + 1]! - low) * (at - whole))
      }
    }
    seen[i] = sum
  }
  return seen
}

/**
 * Fits `ink amount = erfc step of sigma; D = base + net x ink; T = 10^-D; then the scanner's line spread` to a profile, in T.
 * Free: the edge's place, sigma and the clear light; the net density comes from the profile's own plateaus.
 * Assumes ink that spreads alike on both sides; `misfit` says how far the edge is not of that shape.
 * @returns undefined when the plateaus are not told apart
 */
export function fitInkEdge(profile: EdgeSpread, nodes: SpreadNodes): FittedEdge | undefined {
  const change = profile.clear - profile.dark
  if (!(change > 0)) return undefined
  const net = Math.min(
    DEEPEST_NET,
    Math.log10(profile.clear / Math.max(profile.dark, profile.clear * 10 ** -DEEPEST_NET)),
  )
  const seen = riseWidth(profile)
  if (seen === undefined) return undefined
  const start = Math.max(2, Math.sqrt(Math.max(4, seen.width ** 2 - nodes.rise ** 2)) / 1.7)
  const sigma = profile.light.map((light, i) => {
    const share = Math.min(1, Math.max(0, (light - profile.dark) / change))
    const noise = profile.darkNoise + (profile.clearNoise - profile.darkNoise) * share
    return Math.hypot(noise / Math.sqrt(profile.count[i]!), MODEL_FLOOR * change)
  })
  const inkOf = (p: readonly number[]): InkEdge => ({ sigma: Math.max(0.2, Math.abs(p[1]!)), clear: p[2]!, net })
  const run = (n: SpreadNodes) =>
    fitLeastSquares(
      p => {
        const light = seenLight(inkOf(p), n, profile.distance, p[0]!)
        const off = new Array<number>(light.length)
        for (let i = 0; i < off.length; i++) off[i] = (light[i]! - profile.light[i]!) / sigma[i]!
        return off
      },
      [(seen.at10 + seen.at90) / 2 - start, start, profile.clear],
      [10, Math.max(10, start), profile.clear],
      () => true,
      1e-13,
      p => slopesAt(p, n),
    )
  /** The model is proportional to the clear light; place and sigma by central differences of a hundred-thousandth of their usual size. */
  const slopesAt = (p: readonly number[], n: SpreadNodes): number[][] => {
    const at = (place: number, sigmaUm: number) => seenLight(inkOf([place, sigmaUm, p[2]!]), n, profile.distance, place)
    const [moved, wider] = [1e-5 * 10, 1e-5 * Math.max(10, start)]
    const [right, left] = [at(p[0]! + moved, p[1]!), at(p[0]! - moved, p[1]!)]
    const [soft, sharp] = [at(p[0]!, p[1]! + wider), at(p[0]!, p[1]! - wider)]
    const light = at(p[0]!, p[1]!)
    const rows = new Array<number[]>(light.length)
    for (let i = 0; i < rows.length; i++) {
      const own = sigma[i]!
      rows[i] = [
        (right[i]! - left[i]!) / (2 * moved * own),
        (soft[i]! - sharp[i]!) / (2 * wider * own),
        light[i]! / (p[2]! * own),
      ]
    }
    return rows
  }
  const fit = run(nodes)
  const ink = inkOf(fit.parameters)
  const light = seenLight(ink, nodes, profile.distance, fit.parameters[0]!)
  const response = sigmaResponse(profile, sigma, ink, nodes, fit)
  const wider = seenLight(ink, scaleNodes(nodes, 1 + WIDER), profile.distance, fit.parameters[0]!)
  const denser = seenLight({ ...ink, net: ink.net + DENSER }, nodes, profile.distance, fit.parameters[0]!)
  let perSpread = 0
  let perNet = 0
  for (let i = 0; i < light.length; i++) {
    // What the model gains, the data lack.
    perSpread -= (response[i]! * (wider[i]! - light[i]!)) / WIDER
    perNet -= (response[i]! * (denser[i]! - light[i]!)) / DENSER
  }
  const model: RiseWidth | undefined = riseWidth({ ...profile, light, clear: ink.clear, dark: ink.clear * 10 ** -net })
  return {
    ink,
    // Residuals larger than the noise claims (grain, a shape that is not quite the model's) widen the error.
    sigmaFit: Math.sqrt(Math.max(0, fit.covariance[1]![1]!) * Math.max(1, fit.chiSquare / fit.freedom)),
    sigmaPerSpread: perSpread,
    sigmaPerNet: perNet,
    sigmaPerLight: response,
    light,
    seenRise: model?.width ?? seen.width,
    filmRise: filmRise(ink),
    misfit: misfitOf(profile, light) / change,
  }
}

/** Bins averaged for the misfit: a pixel's worth, so that it is not made of noise. */
const MISFIT_BINS = 8
/** Standard errors that chance explains at the worst of some hundred places. */
const MISFIT_SIGMAS = 3.5

function misfitOf(profile: EdgeSpread, light: Float64Array): number {
  const change = profile.clear - profile.dark
  let worst = 0
  for (let from = 0; from + MISFIT_BINS <= light.length; from++) {
    let off = 0
    let count = 0
    let level = 0
    for (let i = from; i < from + MISFIT_BINS; i++) {
      off += profile.count[i]! * (light[i]! - profile.light[i]!)
      level += profile.count[i]! * light[i]!
      count += profile.count[i]!
    }
    const share = Math.min(1, Math.max(0, (level / count - profile.dark) / change))
    const noise = profile.darkNoise + (profile.clearNoise - profile.darkNoise) * share
    worst = Math.max(worst, Math.abs(off / count) - (MISFIT_SIGMAS * noise) / Math.sqrt(count))
  }
  return worst
}

/** Steps for the derivatives of the model: share of the line spread's width, D, um, share of sigma and of the clear light. */
const WIDER = 0.01
const DENSER = 0.02
const MOVED_UM = 0.05
const SHARE = 1e-3

/** Linear response of the fitted sigma to the light of each bin: row of sigma of `(J'WJ)^-1 J'W`. */
function sigmaResponse(
  profile: EdgeSpread,
  error: Float64Array,
  ink: InkEdge,
  nodes: SpreadNodes,
  fit: { readonly parameters: readonly number[]; readonly covariance: readonly (readonly number[])[] },
): Float64Array {
  const place = fit.parameters[0]!
  const at = (edge: InkEdge, centre: number) => seenLight(edge, nodes, profile.distance, centre)
  const slope = (up: Float64Array, down: Float64Array, step: number) => up.map((value, i) => (value - down[i]!) / step)
  const dSigma = SHARE * ink.sigma
  const dClear = SHARE * ink.clear
  const columns = [
    slope(at(ink, place + MOVED_UM), at(ink, place - MOVED_UM), 2 * MOVED_UM),
    slope(
      at({ ...ink, sigma: ink.sigma + dSigma }, place),
      at({ ...ink, sigma: ink.sigma - dSigma }, place),
      2 * dSigma,
    ),
    slope(
      at({ ...ink, clear: ink.clear + dClear }, place),
      at({ ...ink, clear: ink.clear - dClear }, place),
      2 * dClear,
    ),
  ]
  const row = fit.covariance[1]!
  return error.map((own, i) => columns.reduce((sum, column, p) => sum + row[p]! * column[i]!, 0) / own ** 2)
}

function scaleNodes(nodes: SpreadNodes, scale: number): SpreadNodes {
  return { ...nodes, offsets: nodes.offsets.map(x => x * scale), rise: nodes.rise * scale }
}

import type { EdgeSpread } from '../imaging/edge-spread.js'
import { fitNormalEquations } from '../imaging/fit-least-squares.js'
import { type RiseWidth, riseWidth } from '../imaging/rise-width.js'
import type { LineSpread } from '../model/calibration.js'
import { filmRise, type InkEdge } from './ink-edge.js'
import { type EdgeParameters, type ModelEdge, seenEdge } from './seen-edge.js'

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

/**
 * Fits `ink amount = erfc step of sigma; D = base + net x ink; T = 10^-D; then the scanner's line spread` to a profile, in T.
 * Free: the edge's place, sigma and the clear light; the net density comes from the profile's own plateaus.
 * Assumes ink that spreads alike on both sides; `misfit` says how far the edge is not of that shape.
 * @param seen the profile's own rise width
 * @returns undefined when the plateaus are not told apart
 */
export function fitInkEdge(profile: EdgeSpread, nodes: SpreadNodes, seen: RiseWidth): FittedEdge | undefined {
  const change = profile.clear - profile.dark
  if (!(change > 0)) return undefined
  const net = Math.min(
    DEEPEST_NET,
    Math.log10(profile.clear / Math.max(profile.dark, profile.clear * 10 ** -DEEPEST_NET)),
  )
  const start = Math.max(2, Math.sqrt(Math.max(4, seen.width ** 2 - nodes.rise ** 2)) / 1.7)
  const inkOf = (p: EdgeParameters): InkEdge => ({ sigma: Math.max(0.2, Math.abs(p[1])), clear: p[2], net })
  const shown = seenEdge(nodes, profile, MODEL_FLOOR * change)
  const scale = [10, Math.max(10, start), profile.clear] as const
  // Place and sigma by a hundred-thousandth of their usual size.
  const steps = [1e-5 * scale[0], 1e-5 * scale[1]] as const
  const fit = fitNormalEquations(
    {
      residuals: profile.light.length,
      chiSquare: p => shown.chiSquare(inkOf(p as EdgeParameters), p[0]!),
      normal: p => shown.normal(inkOf, p as EdgeParameters, steps),
    },
    [(seen.at10 + seen.at90) / 2 - start, start, profile.clear],
    scale,
  )
  const ink = inkOf(fit.parameters as EdgeParameters)
  const place = fit.parameters[0]!
  const fitted: ModelEdge = { ink, place }
  const light = shown.light(fitted)
  // Linear response of the fitted sigma to the light of each bin.
  const row = fit.covariance[1]!
  const apart = (share: number, step: number, at: (off: number) => ModelEdge) => ({
    share,
    up: at(step),
    down: at(-step),
    step: 2 * step,
  })
  const response = shown.response([
    apart(row[0]!, MOVED_UM, off => ({ ink, place: place + off })),
    apart(row[1]!, SHARE * ink.sigma, off => ({ ink: { ...ink, sigma: ink.sigma + off }, place })),
    apart(row[2]!, SHARE * ink.clear, off => ({ ink: { ...ink, clear: ink.clear + off }, place })),
  ])
  // What the model gains, the data lack.
  const perSpread = -shown.answer({ ...fitted, wider: 1 + WIDER }, fitted) / WIDER
  const perNet = -shown.answer({ ink: { ...ink, net: ink.net + DENSER }, place }, fitted) / DENSER
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
    misfit: shown.misfit(fitted, MISFIT_BINS, MISFIT_SIGMAS) / change,
  }
}

/** Bins averaged for the misfit: a pixel's worth, so that it is not made of noise. */
const MISFIT_BINS = 8
/** Standard errors that chance explains at the worst of some hundred places. */
const MISFIT_SIGMAS = 3.5

/** Steps for the derivatives of the model: share of the line spread's width, D, um, share of sigma and of the clear light. */
const WIDER = 0.01
const DENSER = 0.02
const MOVED_UM = 0.05
const SHARE = 1e-3

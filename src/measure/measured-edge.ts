import { type EdgeSpread, superSampleEdge } from '../imaging/edge-spread.js'
import { lightField } from '../imaging/light-field.js'
import { type RiseWidth, riseWidth } from '../imaging/rise-width.js'
import type { StraightEdge } from '../imaging/straight-edges.js'
import type { DensityScan } from '../model/light.js'
import { type FittedEdge, fitInkEdge, pixelNodes, type SpreadNodes, spreadNodes } from './edge-model.js'
import type { ScaleError } from './scale-errors.js'

/** One edge of the artwork with everything the edge readings need. */
export interface MeasuredEdge {
  readonly id: string
  readonly spread: EdgeSpread
  readonly seen: RiseWidth
  readonly fit: FittedEdge
  readonly scanner: SpreadNodes
  /** False when the scanner's own spread is not known: film widths are then upper bounds. */
  readonly scannerKnown: boolean
  /** Rise width of the film alone, um, or the most it can be when `filmRiseBound`. */
  readonly filmRise: number
  readonly filmRiseBound: 'atMost' | null
  /** How much the film's width grows with the seen one, and how much it shrinks with the scanner's own. */
  readonly perSeen: number
  readonly perScanner: number
  /** Standard uncertainties of the seen width that differ from edge to edge, um: noise, method, and a profile not of the model's shape. */
  readonly noise: number
  readonly method: number
  readonly shape: number
  /** What each error of the light scale does to the film's rise width and to sigma, um, and to the solid's density above base, D (one standard uncertainty, signed). */
  readonly scaleEffects: {
    readonly rise: readonly number[]
    readonly sigma: readonly number[]
    readonly net: readonly number[]
  }
  /** Standard uncertainty of the solid's density above base but for the light scale's own, D. */
  readonly netError: number
}

export interface LeftOutEdge {
  readonly from: StraightEdge['from']
  readonly to: StraightEdge['to']
  readonly because: string
}

/** Read at most this far on the clear and on the dark side, um: 4 sigma of a spread of 300 um rise, and of its dark side. */
const REACH_CLEAR_UM = 1200
const REACH_DARK_UM = 800
/** When the scanner's spread is known in the other direction only, it may differ by this share of its rise width (one sigma). */
const OTHER_DIRECTION = 0.06
/** What quarter-pixel binning, tilt and interpolation leave, as a share of the seen width and in um (from the truth tests). */
const METHOD_SHARE = 0.001
const METHOD_UM = 0.05
/** Below this share of sub-pixel phases next to the edge, the crossings are taken from the fitted model. */
const LEAST_COVERAGE = 0.8
/** Misfit that noise and binning leave on an edge of the model's shape (from the truth tests). */
const USUAL_MISFIT = 0.004
/** Slope of a profile between 10 and 90 %, in units of its change over its rise width. */
const PROFILE_SLOPE = 0.8
/** An edge that bends by more than this is not one the scanner's line spread can be taken out of cleanly. */
const STRAIGHT_UM = 12

/**
 * Measures one straight edge: super-sampled profile, 10-90 % rise width, ink model, and the film's own width.
 * The scanner is taken out in squares of widths, its share taken from the fitted model
 * (`film^2 = seen^2 - (modelSeen^2 - modelFilm^2)`): for Gaussian edges this is the usual quadrature, and it stays right for ink,
 * whose edge in light is not Gaussian. The reading itself remains model-free.
 */
export function measureEdge(
  scan: DensityScan,
  edge: StraightEdge,
  id: string,
  errors: readonly ScaleError[] = [],
): MeasuredEdge | LeftOutEdge {
  const left = (because: string): LeftOutEdge => ({ from: edge.from, to: edge.to, because })
  const field = lightField(scan.scan, filmTable(scan, edge), scan.umPerPixel)
  const pitch = edge.direction === 'across' ? scan.umPerPixel.across : scan.umPerPixel.along
  const spread = superSampleEdge(field, edge, {
    clearUm: Math.min(REACH_CLEAR_UM, edge.clearPx * pitch),
    darkUm: Math.min(REACH_DARK_UM, edge.darkPx * pitch),
  })
  if ('refused' in spread) return left(spread.refused)
  if (spread.sagUm > STRAIGHT_UM) return left(`the edge bends by ${spread.sagUm.toFixed(0)} um`)
  if (!spread.plateauReached) return left('there is too little room beside the edge to see where it ends')
  const seen = riseWidth(spread)
  if (seen === undefined) return left('the profile does not cross 10 and 90 %')
  const { nodes, known } = scannerSpread(scan, spread)
  const fit = fitInkEdge(spread, nodes, seen)
  if (fit === undefined) return left('the two sides of the edge are not told apart')

  const share = Math.max(0, fit.seenRise ** 2 - fit.filmRise ** 2)
  // Where sub-pixel phases are missing the crossings fall between samples: the model bridges them better than a parabola can.
  const covered = spread.phaseCoverage >= LEAST_COVERAGE
  const seenWidth = covered ? seen.width : fit.seenRise
  const bridging = covered ? 0 : Math.abs(seen.width - fit.seenRise) / 2
  const film2 = seenWidth ** 2 - share
  const filmRise = Math.sqrt(Math.max(film2, 0))
  const divisor = Math.max(filmRise, 0.35 * seen.width)
  // A profile that is not of the model's shape leaves the scanner's share, or the line it was projected along, in doubt.
  const shape = (Math.max(0, fit.misfit - USUAL_MISFIT) * seen.width) / PROFILE_SLOPE
  const noise = Math.hypot(seen.standard, bridging)
  const method = METHOD_SHARE * seen.width + METHOD_UM
  const perSeen = seen.width / divisor
  const perScanner = nodes.rise / divisor
  const scaleEffects = effectsOfScale(errors, spread, seen, fit, nodes, perSeen, perScanner)
  const base = {
    id,
    spread,
    seen,
    fit,
    scanner: nodes,
    scannerKnown: known,
    perSeen,
    perScanner,
    noise,
    method,
    shape,
    scaleEffects,
    netError: netError(scan, spread),
  }
  const seenError = Math.hypot(noise, method, shape, ...scaleEffects.rise.map(effect => effect / perSeen))
  if (!known) return { ...base, filmRise: seen.width + 2 * seenError, filmRiseBound: 'atMost' }
  const u = Math.hypot(seenError * perSeen, nodes.riseError * perScanner)
  // Within U of the scanner's own width the film's share is not told apart from none.
  const least = seen.width - 2 * seenError
  if (!(least > nodes.rise + 2 * nodes.riseError) || !(filmRise > 2 * u))
    return {
      ...base,
      filmRise: Math.sqrt(
        Math.max((seen.width + 2 * seenError) ** 2 - Math.max(0, nodes.rise - 2 * nodes.riseError) ** 2, 1),
      ),
      filmRiseBound: 'atMost',
    }
  return { ...base, filmRise, filmRiseBound: null }
}

/** Slope of a unit Gaussian edge at its 10 and 90 % crossings, per sigma, and its rise width in sigmas. */
const GAUSSIAN_SLOPE = 0.175498
const GAUSSIAN_RISE = 2.563103

/**
 * First-order effect of each error of the light scale. A crossing at level l of the change moves by (d clear + ... - d light) / slope; the knife
 * edge, from open light to none, was read on the same scale, so that its error is taken off again.
 */
function effectsOfScale(
  errors: readonly ScaleError[],
  spread: EdgeSpread,
  seen: RiseWidth,
  fit: FittedEdge,
  nodes: SpreadNodes,
  perSeen: number,
  perScanner: number,
): MeasuredEdge['scaleEffects'] {
  const { clear, dark } = spread
  const change = clear - dark
  const slope10 = slopeAt(spread.distance, fit.light, seen.at10, 0.08 * seen.width)
  const slope90 = slopeAt(spread.distance, fit.light, seen.at90, 0.08 * seen.width)
  const knifeSlope = (GAUSSIAN_SLOPE * GAUSSIAN_RISE) / nodes.rise
  const rise: number[] = []
  const sigma: number[] = []
  const net: number[] = []
  const { levels, shares } = byLevel(fit.light, fit.sigmaPerLight)
  for (const error of errors) {
    const moved = (level: number, slope: number) =>
      slope > 0 ? (error(dark) + level * (error(clear) - error(dark)) - error(dark + level * change)) / slope : 0
    const seenMove = moved(0.9, slope90) - moved(0.1, slope10)
    const knifeMove = (0.9 * error(1) - error(0.9) - (0.1 * error(1) - error(0.1))) / knifeSlope
    rise.push(perSeen * seenMove - perScanner * knifeMove)
    // The solid's density above base is read on the same scale.
    const netMove = (error(clear) / clear - (dark > 0 ? error(dark) / dark : 0)) / Math.LN10
    let ink = fit.sigmaPerSpread * (knifeMove / nodes.rise) + fit.sigmaPerNet * netMove
    for (let i = 0; i < levels.length; i++) ink += shares[i]! * error(levels[i]!)
    sigma.push(ink)
    net.push(netMove)
  }
  return { rise, sigma, net }
}

/** Neighbours of the same light are one level: most of a profile is plateau. */
function byLevel(light: Float64Array, share: Float64Array): { levels: Float64Array; shares: Float64Array } {
  const levels = new Float64Array(light.length)
  const shares = new Float64Array(light.length)
  let count = 0
  for (let i = 0; i < light.length; i++) {
    if (count === 0 || light[i] !== levels[count - 1]) levels[count++] = light[i]!
    shares[count - 1]! += share[i]!
  }
  return { levels: levels.subarray(0, count), shares: shares.subarray(0, count) }
}

/** Slope of a smooth table near a place, over `half` to either side. */
function slopeAt(x: Float64Array, y: Float64Array, at: number, half: number): number {
  let n = 0
  let sx = 0
  let sy = 0
  let sxx = 0
  let sxy = 0
  let reach = half
  while (n < 4 && reach < 100 * half) {
    n = sx = sy = sxx = sxy = 0
    for (let i = 0; i < x.length; i++) {
      const t = x[i]! - at
      if (!(Math.abs(t) <= reach)) continue
      n++
      sx += t
      sy += y[i]!
      sxx += t * t
      sxy += t * y[i]!
    }
    reach *= 1.5
  }
  return (n * sxy - sx * sy) / (n * sxx - sx * sx)
}

/** When nothing is known of the dark side, the density of a solid is known only this well, D (one sigma). */
const UNKNOWN_DENSITY = 0.3
/** Components that the light scale's own errors hold already. */
const OF_THE_SCALE = ['tablet', 'fit', 'light drift']

/** What is not known of the solid's density but for the tablet: black, noise, stray light. Past the deepest density told apart it grows as light falls. */
function netError(scan: DensityScan, spread: EdgeSpread): number {
  if (!scan.light.calibrated) return UNKNOWN_DENSITY
  const error = (light: number) => {
    const { bound, budget, guess } = scan.light.density(scan.light.code(light), 0)
    const standard = Math.hypot(...budget.filter(c => !OF_THE_SCALE.includes(c.name)).map(c => c.standard))
    const past = bound === null ? 0 : Math.max(0, guess - (scan.light.deepest ?? guess))
    return Math.min(UNKNOWN_DENSITY, standard * 10 ** past)
  }
  return Math.hypot(spread.dark > 0 ? error(spread.dark) : UNKNOWN_DENSITY, error(spread.clear))
}

/** Light of the film near an edge: flare is even over an edge's width and is taken out of every pixel alike. */
export function filmTable(scan: DensityScan, edge: Pick<StraightEdge, 'from' | 'to'>): Float32Array {
  const { transmittance, flare } = scan.light
  if (flare === undefined || flare === null || scan.surround === undefined) return transmittance
  const around = scan.surround((edge.from.column + edge.to.column) / 2, (edge.from.row + edge.to.row) / 2)
  let added = 0
  for (let k = 0; k < flare.shares.length; k++) added += flare.shares[k]! * around[k]!
  const table = new Float32Array(transmittance.length)
  const gain = 1 + flare.share
  for (let code = 0; code < table.length; code++) table[code] = transmittance[code]! * gain - added
  return table
}

/** The scanner's line spread for this edge's own direction, between the two that were measured. */
export function scannerSpread(
  scan: Pick<DensityScan, 'light'>,
  edge: Pick<EdgeSpread, 'direction' | 'tilt' | 'pitchUm'>,
): { nodes: SpreadNodes; known: boolean } {
  const { across, along } = scan.light.lineSpread
  const own = edge.direction === 'across' ? across : along
  const other = edge.direction === 'across' ? along : across
  if (own === null && other === null) return { nodes: pixelNodes(edge.pitchUm), known: false }
  if (own === null) {
    const nodes = spreadNodes(other!)
    return { nodes: { ...nodes, riseError: Math.hypot(nodes.riseError, OTHER_DIRECTION * nodes.rise) }, known: true }
  }
  if (other === null) return { nodes: spreadNodes(own), known: true }
  const tilt = (edge.tilt * Math.PI) / 180
  const width = Math.hypot(own.riseWidth * Math.cos(tilt), other.riseWidth * Math.sin(tilt))
  return { nodes: spreadNodes(own, width / own.riseWidth), known: true }
}

import { type EdgeSpread, superSampleEdge } from '../imaging/edge-spread.js'
import { lightField } from '../imaging/light-field.js'
import { type RiseWidth, riseWidth } from '../imaging/rise-width.js'
import type { StraightEdge } from '../imaging/straight-edges.js'
import type { DensityScan } from '../model/light.js'
import { type FittedEdge, fitInkEdge, pixelNodes, type SpreadNodes, spreadNodes } from './edge-model.js'

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
  /** Standard uncertainties, um: `random` differs from edge to edge, `scanner` is common to all. */
  readonly random: number
  readonly scannerShare: number
  /** What a profile not of the model's shape adds, um of seen width (part of `random`). */
  readonly shape: number
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
const METHOD_SHARE = 0.004
const METHOD_UM = 0.15
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
export function measureEdge(scan: DensityScan, edge: StraightEdge, id: string): MeasuredEdge | LeftOutEdge {
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
  const fit = fitInkEdge(spread, nodes)
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
  const random =
    Math.hypot(seen.standard, METHOD_SHARE * seen.width + METHOD_UM, shape, bridging) * (seen.width / divisor)
  const scannerShare = nodes.riseError * (nodes.rise / divisor)
  const base = { id, spread, seen, fit, scanner: nodes, scannerKnown: known, random, scannerShare, shape }
  if (!known) {
    return { ...base, filmRise: seen.width + 2 * seen.standard, filmRiseBound: 'atMost' }
  }
  const u = Math.hypot(random, scannerShare)
  // Within U of the scanner's own width the film's share is not told apart from none.
  const least = seen.width - 2 * Math.hypot(seen.standard, METHOD_SHARE * seen.width + METHOD_UM)
  if (!(least > nodes.rise + 2 * nodes.riseError) || !(filmRise > 2 * u))
    return {
      ...base,
      filmRise: Math.sqrt(
        Math.max((seen.width + 2 * seen.standard) ** 2 - Math.max(0, nodes.rise - 2 * nodes.riseError) ** 2, 1),
      ),
      filmRiseBound: 'atMost',
    }
  return { ...base, filmRise, filmRiseBound: null }
}

/** Light of the film near an edge: flare is even over an edge's width and is taken out of every pixel alike. */
export function filmTable(scan: DensityScan, edge: Pick<StraightEdge, 'from' | 'to'>): Float32Array {
  const { transmittance, flare } = scan.light
  if (flare === undefined || flare === null || scan.surround === undefined) return transmittance
  const around = scan.surround((edge.from.column + edge.to.column) / 2, (edge.from.row + edge.to.row) / 2)
  return transmittance.map(light => light * (1 + flare.share) - flare.share * around)
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

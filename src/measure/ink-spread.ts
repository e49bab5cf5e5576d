import type { LengthDoubts } from '../model/length-doubts.js'
import { type EdgeValue, middleOfEdges, ownStandard, scaleEffects, sizeEffects } from './combine-edges.js'
import { type FilmEvidence, type Measured, notMeasured } from './film-evidence.js'
import type { MeasuredEdge } from './measured-edge.js'
import { NO_EDGE_NEXT, noEdgeBecause } from './rise-width.js'

export const INK_SPREAD_METHOD = 'inkSpread@1'

/** What an edge fit leaves though noise-free, as a share of sigma and in um (from the truth tests). */
const FIT_SHARE = 0.001
const FIT_UM = 0.05

/** Name of what the solid's density adds. */
export const SOLID_DENSITY = 'solid density'

export function inkSpreadOf(edge: MeasuredEdge, doubts: LengthDoubts): EdgeValue {
  const { fit, scanner } = edge
  const sigma = fit.ink.sigma
  // A shape that is not the model's: as for the rise width, which is 1.6 to 2 sigma.
  const shape = (edge.shape / 1.7) * (edge.seen.width / Math.max(fit.filmRise, 0.35 * edge.seen.width))
  const own = (name: string, type: 'A' | 'B', standard: number, degreesOfFreedom: number | null) => ({
    name,
    standard,
    type,
    input: { standard, unit: 'um' },
    sensitivity: 1,
    degreesOfFreedom,
  })
  const spread = fit.sigmaPerSpread / scanner.rise
  const value: EdgeValue = {
    edge,
    value: sigma,
    own: [
      own('noise', 'A', fit.sigmaFit, Math.max(1, fit.light.length - 3)),
      own('method', 'B', FIT_SHARE * sigma + FIT_UM, null),
      ...(shape > 0 ? [own('shape', 'B', shape, null)] : []),
    ],
    shared: [
      {
        name: 'scanner',
        source: `scanner ${edge.spread.direction}`,
        effect: spread * scanner.riseError,
        type: 'B',
        input: { standard: scanner.riseError, unit: 'um' },
        degreesOfFreedom: null,
      },
      ...scaleEffects(edge.scaleEffects.sigma, doubts),
      {
        name: SOLID_DENSITY,
        source: SOLID_DENSITY,
        effect: fit.sigmaPerNet * edge.netError,
        type: 'B',
        input: { standard: edge.netError, unit: 'D' },
        degreesOfFreedom: null,
      },
      ...sizeEffects(doubts, edge, sigma),
    ],
    bound: null,
  }
  const u = Math.hypot(ownStandard(value), ...value.shared.map(s => s.effect))
  if (!edge.scannerKnown || !(sigma > 2 * u) || edge.filmRiseBound !== null)
    return { ...value, value: sigma + 2 * u, bound: 'atMost' }
  return value
}

/**
 * How far the ink has spread sideways, one sigma: the parameter of the model `ink amount = erfc step; D = base + net x ink; T = 10^-D;
 * the scanner's line spread`, fitted in T (edge-model.ts); the middle one of all edges. um, 0 upward; `atMost` when the scanner hides it.
 * It obeys diffusion (sigma^2 grows by 2Dt, Fick) and does not depend on the scanner. Assumes ink that spreads alike on both sides.
 */
export function measureInkSpread(film: FilmEvidence): Measured {
  if (film.edges.length === 0) return notMeasured('inkSpread', noEdgeBecause(film), NO_EDGE_NEXT)
  return middleOfEdges(
    film.edges.map(edge => inkSpreadOf(edge, film.doubts)),
    INK_SPREAD_METHOD,
  )
}

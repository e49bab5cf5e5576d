import { type EdgeValue, middleOfEdges } from './combine-edges.js'
import { type FilmEvidence, type Measured, notMeasured } from './film-evidence.js'
import type { MeasuredEdge } from './measured-edge.js'
import { NO_EDGE_NEXT, noEdgeBecause } from './rise-width.js'

export const INK_SPREAD_METHOD = 'inkSpread@1'

/** What an edge fit leaves though noise-free, as a share of sigma (from the truth tests). */
const FIT_SHARE = 0.006

export function inkSpreadOf(edge: MeasuredEdge): EdgeValue {
  const sigma = edge.fit.ink.sigma
  // A shape that is not the model's: as for the rise width, which is 1.6 to 2 sigma.
  const shape = (edge.shape / 1.7) * (edge.seen.width / Math.max(edge.fit.filmRise, 0.35 * edge.seen.width))
  const random = Math.hypot(edge.fit.sigmaFit, FIT_SHARE * sigma + 0.1, shape)
  const u = Math.hypot(random, edge.fit.sigmaScanner)
  const shared = [{ name: 'scanner', standard: edge.fit.sigmaScanner }]
  if (!edge.scannerKnown || !(sigma > 2 * u) || edge.filmRiseBound !== null)
    return { edge, value: sigma + 2 * u, random, shared, bound: 'atMost' }
  return { edge, value: sigma, random, shared, bound: null }
}

/**
 * How far the ink has spread sideways, one sigma: the parameter of the model `ink amount = erfc step; D = base + net x ink; T = 10^-D;
 * the scanner's line spread`, fitted in T (edge-model.ts); the middle one of all edges. um, 0 upward; `atMost` when the scanner hides it.
 * It obeys diffusion (sigma^2 grows by 2Dt, Fick) and does not depend on the scanner. Assumes ink that spreads alike on both sides.
 */
export function measureInkSpread(film: FilmEvidence): Measured {
  if (film.edges.length === 0) return notMeasured('inkSpread', noEdgeBecause(film), NO_EDGE_NEXT)
  return middleOfEdges(film.edges.map(inkSpreadOf), INK_SPREAD_METHOD)
}

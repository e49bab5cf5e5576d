import { type EdgeValue, middleOfEdges } from './combine-edges.js'
import { type FilmEvidence, type Measured, notMeasured } from './film-evidence.js'
import type { MeasuredEdge } from './measured-edge.js'
import { NO_EDGE_NEXT, noEdgeBecause } from './rise-width.js'

export const RAGGEDNESS_METHOD = 'raggedness@1'

function raggednessOf(edge: MeasuredEdge): EdgeValue {
  const { shifts, shiftErrors } = edge.spread
  const n = shifts.length
  let seen = 0
  let noise = 0
  for (let i = 0; i < n; i++) {
    seen += shifts[i]! ** 2
    noise += shiftErrors[i]! ** 2
  }
  seen /= Math.max(1, n - 2)
  noise /= n
  const left = seen - noise
  // Standard error of a variance of n values; the noise estimate itself is held good to a tenth.
  const error = Math.hypot(seen * Math.sqrt(2 / Math.max(1, n - 2)), 0.1 * noise) + 1e-6
  const value = Math.sqrt(Math.max(left, 0))
  if (!(left > 2 * error))
    return {
      edge,
      value: Math.sqrt(Math.max(left, 0) + 2 * error),
      random: Math.sqrt(error) / 2,
      shared: [],
      bound: 'atMost',
    }
  return { edge, value, random: error / (2 * value), shared: [], bound: null }
}

/**
 * How far the edge's 60 % contour wanders from its straight line, rms (ISO/IEC 13660 manner), pixel noise taken out; the middle one
 * of all edges. um, 0 upward; `atMost` when noise hides it. One contour point a scan line, each from the light around the contour.
 * The scanner's blur hides wandering finer than its own spread. Assumes a straight edge; damaged lines are left out.
 */
export function measureRaggedness(film: FilmEvidence): Measured {
  if (film.edges.length === 0) return notMeasured('raggedness', noEdgeBecause(film), NO_EDGE_NEXT)
  return middleOfEdges(film.edges.map(raggednessOf), RAGGEDNESS_METHOD)
}

import { type EdgeValue, middleOfEdges, scaleSource } from './combine-edges.js'
import { type FilmEvidence, type Measured, notMeasured } from './film-evidence.js'
import { contourAt, type InkEdge } from './ink-edge.js'
import { inkSpreadOf, SOLID_DENSITY } from './ink-spread.js'
import type { MeasuredEdge } from './measured-edge.js'
import { NO_EDGE_NEXT, noEdgeBecause } from './rise-width.js'

/** How far one standard uncertainty of a source moves the solid's density above base, D. */
function netMoves({ netError, scaleEffects }: MeasuredEdge, source: string): number {
  if (source === SOLID_DENSITY) return netError
  const k = scaleSource(source)
  return k === null ? 0 : scaleEffects.net[k]!
}

export const FRINGE_WIDTH_METHOD = 'fringeWidth@1'

/**
 * Distance between the density contours at 10 and 90 % of the least core density asked of the process, above base
 * (ISO 12647-1: fringe width). um, 0 upward. Taken from the ink model, since the contours cannot be read off the blurred scan;
 * fixed contours, not of this film's own maximum. Not measured when the solid does not reach the upper contour.
 */
export function measureFringeWidth(film: FilmEvidence): Measured {
  if (film.edges.length === 0) return notMeasured('fringeWidth', noEdgeBecause(film), NO_EDGE_NEXT)
  const { low, high } = film.fringeContours
  const values: EdgeValue[] = []
  let deepestNet = 0
  for (const edge of film.edges) {
    const ink = edge.fit.ink
    deepestNet = Math.max(deepestNet, ink.net)
    if (!(ink.net > high * 1.02)) continue
    const spread = inkSpreadOf(edge, film.doubts)
    const width = (e: InkEdge) => contourAt(e, low) - contourAt(e, high)
    const value = width({ ...ink, sigma: spread.value })
    const perSigma = value / spread.value
    const { netError } = edge
    // The solid's density moves sigma in the fit, and the contours on the edge.
    const less = Math.max(high * 1.01, ink.net - netError)
    const more = ink.net + netError
    const moved = (net: number) => width({ ...ink, sigma: spread.value, net })
    const perNet = more > less ? (moved(more) - moved(less)) / (more - less) : 0
    values.push({
      edge,
      value,
      own: spread.own.map(c => ({
        ...c,
        standard: c.standard * perSigma,
        sensitivity: (c.sensitivity ?? 1) * perSigma,
      })),
      shared: spread.shared.map(s => ({
        ...s,
        effect: s.effect * perSigma + perNet * netMoves(edge, s.source),
      })),
      bound: spread.bound,
    })
  }
  if (values.length === 0)
    return notMeasured(
      'fringeWidth',
      `the solids are ${deepestNet.toFixed(2)} D above base and do not reach the upper contour at ${high.toFixed(2)} D`,
      'print with more ink; the fringe can be read once the solids are dense enough',
    )
  return middleOfEdges(values, FRINGE_WIDTH_METHOD)
}

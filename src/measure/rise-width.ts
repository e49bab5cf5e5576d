import { type EdgeValue, edgePart, middleOfEdges } from './combine-edges.js'
import { type FilmEvidence, type Measured, notMeasured } from './film-evidence.js'

export const RISE_WIDTH_METHOD = 'riseWidth@1'
export const RISE_WIDTH_WORST_METHOD = 'riseWidthWorst@1'

const NO_EDGE_NEXT = 'print the positive with a solid bar of 10 mm or more in its margin, and scan at 1200 dpi'

/** Rise width of each edge, the scanner taken out; see measured-edge.ts. */
export function riseWidths(film: FilmEvidence): EdgeValue[] {
  return film.edges.map(edge => ({
    edge,
    value: edge.filmRise,
    random: edge.random,
    shared: [{ name: 'scanner', standard: edge.scannerShare }],
    bound: edge.filmRiseBound,
  }))
}

/**
 * 10-90 % rise width of the film's edges in transmittance along the normal: the middle one of all straight edges of the artwork.
 * um, 0 upward. The scanner's own spread is taken out in squares of widths; a bound `atMost` when it is not known, or when the seen
 * width is within U of the scanner's own. Model-free but for the scanner's share. Assumes edges straight within 12 um over their run.
 * Error floor 0.4 % + 0.15 um of the seen width and the knife edge's U. ISO 12233:2014 6.2, ISO 16067-2 manner; ISO/IEC 13660 R10, R90.
 */
export function measureRiseWidth(film: FilmEvidence): Measured {
  const values = riseWidths(film)
  if (values.length === 0) return notMeasured('riseWidth', noEdgeBecause(film), NO_EDGE_NEXT)
  return middleOfEdges(values, RISE_WIDTH_METHOD)
}

/** The softest of the edges behind `riseWidth`, and where. A bound only when it is the softest and no more is known of it. */
export function measureRiseWidthWorst(film: FilmEvidence): Measured {
  const values = riseWidths(film)
  if (values.length === 0) return notMeasured('riseWidthWorst', noEdgeBecause(film), NO_EDGE_NEXT)
  const worst = values.reduce((a, b) => (b.value > a.value ? b : a))
  const part = edgePart(worst)
  return {
    value: worst.value,
    unit: 'um',
    expanded: part.expanded,
    bound: worst.bound,
    n: values.length,
    parts: [part],
    budget: [{ name: 'edge', standard: worst.random }, ...worst.shared],
    method: RISE_WIDTH_WORST_METHOD,
  }
}

/** Why a film gave no edge. */
export function noEdgeBecause(film: FilmEvidence): string {
  const first = film.leftOut[0]
  return first === undefined
    ? 'no straight edge of 3 mm between a solid and clear film was found'
    : `none of ${film.leftOut.length} straight edges could be used: ${first.because}`
}

export { NO_EDGE_NEXT }

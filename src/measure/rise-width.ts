import { choiceOfExtreme } from './choice-of-extreme.js'
import {
  type EdgeValue,
  edgeBudget,
  edgePart,
  middleOfEdges,
  ownStandard,
  scaleEffects,
  sizeEffects,
} from './combine-edges.js'
import { expandedUncertainty } from './expanded-uncertainty.js'
import { type FilmEvidence, type Measured, notMeasured } from './film-evidence.js'

export const RISE_WIDTH_METHOD = 'riseWidth@1'
export const RISE_WIDTH_WORST_METHOD = 'riseWidthWorst@1'

const NO_EDGE_NEXT = 'print the positive with a solid bar of 10 mm or more in its margin, and scan at 1200 dpi'

/** Rise width of each edge, the scanner taken out; see measured-edge.ts. */
export function riseWidths(film: FilmEvidence): EdgeValue[] {
  return film.edges.map(edge => {
    const { perSeen, perScanner, scanner, filmRise: value } = edge
    const own = (name: string, type: 'A' | 'B', standard: number, degreesOfFreedom: number | null) => ({
      name,
      standard: standard * perSeen,
      type,
      input: { standard, unit: 'um' },
      sensitivity: perSeen,
      degreesOfFreedom,
    })
    return {
      edge,
      value,
      own: [
        own('noise', 'A', edge.noise, Math.max(1, edge.spread.lines - 2)),
        own('method', 'B', edge.method, null),
        ...(edge.shape > 0 ? [own('shape', 'B', edge.shape, null)] : []),
      ],
      shared: [
        {
          name: 'scanner',
          source: `scanner ${edge.spread.direction}`,
          effect: -perScanner * scanner.riseError,
          type: 'B',
          input: { standard: scanner.riseError, unit: 'um' },
          degreesOfFreedom: null,
        },
        ...scaleEffects(edge.scaleEffects.rise, film.doubts),
        ...sizeEffects(film.doubts, edge, value),
      ],
      bound: edge.filmRiseBound,
    }
  })
}

/**
 * 10-90 % rise width of the film's edges in transmittance along the normal: the middle one of all straight edges of the artwork.
 * um, 0 upward. The scanner's own spread is taken out in squares of widths; a bound `atMost` when it is not known, or when the seen
 * width is within U of the scanner's own. Model-free but for the scanner's share. Assumes edges straight within 12 um over their run.
 * Error floor: `METHOD_*` of measured-edge.ts of the seen width, the knife edge's U and the certificate's. ISO 12233:2014 6.2, ISO 16067-2 manner; ISO/IEC 13660 R10, R90.
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
  const budget = [
    ...edgeBudget(worst),
    choiceOfExtreme(
      values.map(v => v.value),
      worst.value,
      ownStandard(worst),
      'um',
    ),
  ]
  const combined = expandedUncertainty(budget)
  return {
    value: worst.value,
    unit: 'um',
    ...combined,
    bound: worst.bound,
    n: values.length,
    parts: [{ ...part, expanded: combined.expanded }],
    budget,
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

import type { FilmEvidence } from '../../src/measure/film-evidence.js'
import type { StripEvidence } from '../../src/measure/strip-evidence.js'
import type { MeasuredLine } from '../../src/measure/strip-lines.js'
import type { MeasuredTone } from '../../src/measure/strip-tones.js'
import { inkFilm, SPIKE, scaleWith } from './ink-film.js'

export function toneOf(intended: number, measured: number): MeasuredTone {
  const budget = [{ name: 'noise', standard: 0.1 }]
  return { intended, measured, expanded: 0.2, budget, place: { column: intended, row: 10 } }
}

export function lineOf(polarity: 'positive' | 'negative', intendedUm: number, gainUm: number): MeasuredLine {
  return {
    polarity,
    direction: 'head',
    intendedUm,
    measuredUm: polarity === 'positive' ? intendedUm + gainUm : intendedUm - gainUm,
    expanded: 1,
    gainUm,
    place: { column: intendedUm, row: 20 },
    own: [{ name: 'noise', standard: 0.3 }],
    scanner: polarity === 'positive' ? 0.2 : -0.2,
    scale: [0.1],
  }
}

/** A strip laid along the head, 10 pixels a millimetre, 0.1 % too long and 0.2 % too high. */
export function stripEvidence(strip: Partial<StripEvidence> = {}): FilmEvidence & { readonly strip: StripEvidence } {
  return {
    ...inkFilm({ sigma: 30, net: 3 }, scaleWith(SPIKE)),
    strip: {
      laid: {
        identity: {
          positive: 'p-1',
          jobType: 'halftone',
          dpi: { across: 720, along: 720 },
          form: 'short',
          laid: 'head',
          tints: 'screened',
        },
        ends: ['first', 'last'],
        mirrored: false,
        likeness: 1,
        map: { x0: 0, y0: 0, xx: 10, yx: 0, xy: 0, yy: 10 },
        corners: [],
        stretch: { x: 0.001, y: 0.002, standardX: 0.00001, standardY: 0.00005 },
        residualUm: 1,
      },
      solids: [],
      clears: [],
      edges: [],
      leftOut: [],
      screen: {
        first: { x: 2, y: 0 },
        second: { x: 0, y: 2 },
        tints: [
          { percent: 20, ruling: 54.9, angle: 22.4 },
          { percent: 40, ruling: 55, angle: 22.5 },
          { percent: 60, ruling: 55.1, angle: 22.6 },
        ],
      },
      tones: [toneOf(20, 26), toneOf(50, 61), toneOf(90, 88)],
      lines: [lineOf('positive', 100, 20), lineOf('negative', 100, 24), lineOf('positive', 300, 22)],
      lost: [],
      scale: { across: 0.0002, along: 0.0001, from: 'grid' },
      ...strip,
    },
  }
}

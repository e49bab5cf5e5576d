import type { FilmEvidence, Measured } from './film-evidence.js'
import { screenReading } from './screen-reading.js'

/** What the peak of a windowed spectrum leaves of the ruling of a few millimetres of tint, lines/in (from the truth test). */
const METHOD = 0.03

/**
 * Rows of dots to the inch, from both first harmonics of the spectrum of the control strip's tints; the mean of its tints. lines/in, above 0.
 * In true lengths of the film, as the scanner's pixel size tells them. Assumes a screen of dots in rows. Error floor 0.03 lines/in.
 */
export function measureRuling(film: FilmEvidence): Measured {
  return screenReading(
    film,
    'ruling',
    'lines/in',
    tints => tints.map(tint => tint.ruling),
    ({ scale, laid }, mean) => [
      { name: 'method', standard: METHOD, type: 'B', degreesOfFreedom: null },
      {
        name: scale.from === 'grid' ? 'scanner’s pixel size (grid)' : 'scanner’s pixel size (file’s resolution only)',
        standard:
          mean * Math.hypot(Math.max(scale.across, scale.along), laid.stretch.standardX, laid.stretch.standardY),
        type: 'B',
        degreesOfFreedom: null,
      },
    ],
  )
}

import type { FilmEvidence, Measured } from './film-evidence.js'
import { screenReading } from './screen-reading.js'
import { angleOff } from './strip-screen.js'

/** What the peak of a windowed spectrum leaves of the angle of a few millimetres of tint, degrees (from the truth test). */
const METHOD = 0.02
const DEGREES = 180 / Math.PI

/**
 * Angle of the rows of dots in the print, from the head's travel (u) towards the feed (v), both first harmonics of the spectrum of the control
 * strip's tints; the mean of its tints. degrees, 0 up to 90: a screen of dots looks the same every quarter turn. The strip's own marks tell how the
 * film lies and which side is up, so that 15 and 75 are not taken for each other on a film seen from its back. Error floor 0.02 degrees.
 */
export function measureScreenAngle(film: FilmEvidence): Measured {
  const measured = screenReading(
    film,
    'screenAngle',
    'degrees',
    tints => tints.map(tint => tints[0]!.angle + angleOff(tint.angle, tints[0]!.angle)),
    ({ scale, laid }) => [
      { name: 'method', standard: METHOD, type: 'B', degreesOfFreedom: null },
      // A pixel longer one way than the other turns a slanted row by at most half of it.
      {
        name: scale.from === 'grid' ? 'scanner’s pixel size (grid)' : 'scanner’s pixel size (file’s resolution only)',
        standard: (DEGREES / 2) * Math.hypot(scale.across, scale.along),
        type: 'B',
        degreesOfFreedom: null,
      },
      {
        name: 'lie of the strip',
        standard: (DEGREES / 2) * Math.hypot(laid.stretch.standardX, laid.stretch.standardY),
        type: 'A',
        degreesOfFreedom: null,
      },
    ],
  )
  return 'value' in measured ? { ...measured, value: ((measured.value % 90) + 90) % 90 } : measured
}

import { type FilmEvidence, type Measured, notMeasured } from './film-evidence.js'
import { areaDensities, densityReading, middleDensity, patchPart } from './patch-density.js'

export const SOLID_DENSITY_METHOD = 'solidDensity@1'

/**
 * Density of the middle one of all solids; a solid is an inked area where a 1.0 mm square fits clear of its edge by 0.3 mm.
 * D above no film (not above base), 0 upward; beyond the scanner's deepest density a bound `atLeast`. Each solid's mean code over its
 * patches is mapped once (ISO 5-1). Assumes flat ink: tints have structure at their ruling and are no solids.
 * Error floor: one code of 65535 is 0.007 D at D 3 and 0.066 D at D 4, and the black level counts in full.
 */
export function measureSolidDensity(film: FilmEvidence): Measured {
  const areas = areaDensities(film.scan, film.solids)
  if (areas.length === 0)
    return notMeasured(
      'solidDensity',
      'no solid of 1.6 mm or more was found on the film',
      'check that the right side of the lid was lit and that the film holds a solid; print the positive with a solid patch in its margin',
    )
  return densityReading(
    middleDensity(areas),
    areas.length,
    film.solids.map(p => patchPart(film.scan, p)),
    SOLID_DENSITY_METHOD,
  )
}

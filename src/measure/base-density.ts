import { type FilmEvidence, type Measured, notMeasured } from './film-evidence.js'
import { densityReading, middleDensity, patchDensity, patchPart } from './patch-density.js'

export const BASE_DENSITY_METHOD = 'baseDensity@1'

/**
 * Density of the clear film: the middle one of up to 36 squares of 1.0 mm, clear of ink by 0.3 mm and of the film's rim by 1 mm.
 * D, 0 upward. Scanner density calibrated to the tablet (never an ISO 5 density, see ISO 5-2/-3). Assumes that what is bright, flat and
 * not open bed is base. Error floor: the tablet's own uncertainty at its clearest step.
 */
export function measureBaseDensity(film: FilmEvidence): Measured {
  if (film.bases.length === 0)
    return notMeasured(
      'baseDensity',
      'no clear film of 1.6 mm was found away from ink and from the film’s rim',
      'scan so that some clear film is in view',
    )
  const density = middleDensity(film.bases.map(p => patchDensity(film.scan, p)))
  return densityReading(
    density,
    film.bases.length,
    film.bases.map(p => patchPart(film.scan, p)),
    BASE_DENSITY_METHOD,
  )
}

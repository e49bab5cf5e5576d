import type { FilmEvidence, Measured } from './film-evidence.js'
import { measureSizeError } from './size-error.js'

/** Size of the film against its artwork across the print head (the artwork's rows), %; see `measureSizeError`. */
export function measureSizeErrorAcross(film: FilmEvidence): Measured {
  return measureSizeError(film, 'sizeErrorAcross', fit => fit.size.across)
}

import type { FilmEvidence, Measured } from './film-evidence.js'
import { measureSizeError } from './size-error.js'

/** Size of the film against its artwork along the feed (the artwork's columns), %; see `measureSizeError`. */
export function measureSizeErrorFeed(film: FilmEvidence): Measured {
  return measureSizeError(film, 'sizeErrorFeed', fit => fit.size.feed)
}

import type { FilmEvidence, Measured } from './film-evidence.js'
import { measureInkDifference } from './ink-difference.js'

/** Ink that the artwork has and the film lacks, mm2, inside the artwork's frame; see `measureInkDifference`. */
export function measureMissingInk(film: FilmEvidence): Measured {
  return measureInkDifference(film, 'missingInk', difference => difference.missing)
}

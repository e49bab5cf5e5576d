import type { FilmEvidence, Measured } from './film-evidence.js'
import { measureInkDifference } from './ink-difference.js'

/** Ink on the film that the artwork does not have, mm2, inside the artwork's frame; see `measureInkDifference`. */
export function measureExtraInk(film: FilmEvidence): Measured {
  return measureInkDifference(film, 'extraInk', difference => difference.extra)
}

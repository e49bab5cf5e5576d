import { countFlaws } from './count-flaws.js'
import type { FilmEvidence, Measured } from './film-evidence.js'

/** Pinholes found on the whole page: light spots closed in by ink; count, 0 upward. See `countFlaws`. */
export function measurePinholeCount(film: FilmEvidence): Measured {
  return countFlaws(film, 'pinholeCount', ['pinhole'])
}

import { countFlaws } from './count-flaws.js'
import type { FilmEvidence, Measured } from './film-evidence.js'

/** Thin spots found on the whole page: areas inside a solid at least 0.15 D and eight times its scatter less dense; count, 0 upward. See `countFlaws`. */
export function measureThinSpotCount(film: FilmEvidence): Measured {
  return countFlaws(film, 'thinSpotCount', ['thinSpot'])
}

import { countFlaws } from './count-flaws.js'
import type { FilmEvidence, Measured } from './film-evidence.js'

/** Specks and hairs found on the whole page: dark spots alone in clear film; count, 0 upward. See `countFlaws`. */
export function measureSpeckCount(film: FilmEvidence): Measured {
  return countFlaws(film, 'speckCount', ['speck', 'hair'])
}

import { countFlaws } from './count-flaws.js'
import type { FilmEvidence, Measured } from './film-evidence.js'

/** Scratches found on the whole page: thin light lines through ink that the artwork does not have by their shape; count, 0 upward. See `countFlaws`. */
export function measureScratchCount(film: FilmEvidence): Measured {
  return countFlaws(film, 'scratchCount', ['scratch'])
}

import { countFlaws } from './count-flaws.js'
import type { FilmEvidence, Measured } from './film-evidence.js'

/** Lost nozzle lines found on the whole page: thin light lines on the film's axes that end in clear film and are thinner than artwork draws, or go on in another solid; count, 0 upward. See `countFlaws`. */
export function measureMissingNozzleCount(film: FilmEvidence): Measured {
  return countFlaws(film, 'missingNozzleCount', ['missingNozzle'])
}

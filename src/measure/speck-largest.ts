import type { FilmEvidence, Measured } from './film-evidence.js'
import { largestFlaw } from './largest-flaw.js'

/** Diameter of the largest speck or hair, um, of the light it changes; at most the least size found when there is none. See `largestFlaw`. */
export function measureSpeckLargest(film: FilmEvidence): Measured {
  return largestFlaw(film, 'speckLargest', ['speck', 'hair'])
}

import { readSolidField } from '../imaging/solid-field.js'
import type { SolidArea } from '../model/located.js'
import type { FilmEvidence } from './film-evidence.js'
import { type FilmRipple, filmRipple } from './solid-ripple.js'

/** Reads the large solids of a film for ripple, and a clear area for the scanner's own; each pixel once. */
export function gatherRipple(
  { scan, bases }: FilmEvidence,
  areas: readonly SolidArea[],
  clear: SolidArea | null,
): FilmRipple {
  return filmRipple(
    scan,
    areas.map(area => readSolidField(scan, area)),
    bases,
    areas.length === 0 || clear === null ? null : readSolidField(scan, clear),
  )
}

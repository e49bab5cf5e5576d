import type { FilmEvidence } from '../../src/measure/film-evidence.js'
import type { ArtworkAlignment, ArtworkFit, ScannerScale } from '../../src/model/artwork.js'
import { inkFilm, SPIKE, scaleWith } from './ink-film.js'

/** An artwork laid on its film: 0.25 % too large across, 0.125 % too small along the feed. */
export const FITTED: ArtworkFit = {
  kind: 'fitted',
  map: { x0: 10, y0: 20, xx: 47, xy: 0, yx: 0, yy: 47 },
  turned: 0,
  mirrored: false,
  likeness: 0.96,
  onFilm: 1,
  size: {
    across: { value: 0.0025, standard: 0.00005, shares: { across: 1, along: 0 } },
    feed: { value: -0.00125, standard: 0.00004, shares: { across: 0, along: 1 } },
  },
  gainUm: { across: 20, feed: 20 },
  residualUm: 2,
  shift: null,
  edges: 40,
  corners: [
    { column: 10, row: 20 },
    { column: 480, row: 20 },
    { column: 480, row: 490 },
    { column: 10, row: 490 },
  ],
}

/** Drawn once for all: nobody changes evidence. */
let drawn: FilmEvidence | undefined

/** Evidence of a film with an artwork: `undefined` when none was given, null when it could not be read. */
export function artworkEvidence(
  alignment: ArtworkAlignment | null | undefined,
  scale: ScannerScale = { across: 0.0001, along: 0.0001, from: 'grid' },
): FilmEvidence {
  drawn ??= inkFilm({ sigma: 30, net: 3 }, scaleWith(SPIKE))
  return alignment === undefined ? drawn : { ...drawn, artwork: { alignment, scale } }
}

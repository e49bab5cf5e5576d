import type { ArtworkFit, SizeRatio } from '../model/artwork.js'
import { expandedUncertainty } from './expanded-uncertainty.js'
import { type FilmEvidence, type Measured, notMeasured } from './film-evidence.js'
import { fittedArtwork } from './fitted-artwork.js'
import type { StripEvidence } from './strip-evidence.js'

/** Film moves by 0.001 to 0.002 % for each % of humidity; between two rooms it is off by some 0.004 %, one sigma, whatever the fit says. */
const FLOOR = 0.00004

/**
 * Film size over artwork size less one, %, in one direction of the artwork: length of the fitted map's axis, lengths of the scan by
 * the scanner's pixel size. Assumes that the artwork's resolution tags are exact. Error floor 0.004 %; by the scanner's own
 * scale mostly, unless that was measured on a grid. Without artwork the control strip's own lengths are taken, which are shorter. The definition is
 * the project's own.
 */
export function measureSizeError(
  film: FilmEvidence,
  reading: 'sizeErrorAcross' | 'sizeErrorFeed',
  sizeOf: (fit: ArtworkFit) => SizeRatio | null,
): Measured {
  const { artwork, strip } = film
  if (strip !== undefined && artwork?.alignment?.kind !== 'fitted') return stripSizeError(strip, reading)
  const fitted = fittedArtwork(film, reading)
  if ('because' in fitted) return fitted
  const { scale } = fitted.artwork
  const size = sizeOf(fitted.alignment)
  if (size === null)
    return notMeasured(
      reading,
      'the artwork has too few straight or round edges of plain ink, at least 0.3 mm wide, to tell its size in this direction',
      'compare a length by hand, or print the artwork with a strip or marks that have such edges on all sides',
    )
  const scanner = Math.hypot(size.shares.across * scale.across, size.shares.along * scale.along)
  const budget = [
    { name: 'edges of the film', standard: 100 * size.standard },
    {
      name: scale.from === 'grid' ? 'scanner’s pixel size (grid)' : 'scanner’s pixel size (file’s resolution only)',
      standard: 100 * scanner,
    },
    { name: 'film and humidity', standard: 100 * FLOOR },
  ]
  return {
    value: 100 * size.value,
    unit: '%',
    expanded: 2 * Math.hypot(...budget.map(component => component.standard)),
    bound: null,
    n: fitted.alignment.edges,
    parts: [],
    budget,
    method: `${reading}@1`,
  }
}

/** The strip's own length or width over what was sent to the printer. */
function stripSizeError({ laid, scale, edges }: StripEvidence, reading: 'sizeErrorAcross' | 'sizeErrorFeed'): Measured {
  const { map, stretch, identity } = laid
  // Laid along the head, x runs across it.
  const alongX = (identity.laid === 'head') === (reading === 'sizeErrorAcross')
  const [dx, dy] = alongX ? [map.xx, map.yx] : [map.xy, map.yy]
  const shares = { across: dx ** 2 / (dx ** 2 + dy ** 2), along: dy ** 2 / (dx ** 2 + dy ** 2) }
  const budget = [
    { name: 'edges of the strip', standard: 100 * (alongX ? stretch.standardX : stretch.standardY) },
    {
      name: scale.from === 'grid' ? 'scanner’s pixel size (grid)' : 'scanner’s pixel size (file’s resolution only)',
      standard: 100 * Math.hypot(shares.across * scale.across, shares.along * scale.along),
    },
    { name: 'film and humidity', standard: 100 * FLOOR },
  ]
  return {
    value: 100 * (alongX ? stretch.x : stretch.y),
    unit: '%',
    ...expandedUncertainty(budget),
    bound: null,
    n: edges.length,
    parts: [],
    budget,
    method: `${reading}@1`,
  }
}

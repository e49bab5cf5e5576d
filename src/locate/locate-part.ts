import { blockCentre } from '../imaging/block-overview.js'
import type { PixelPoint } from '../model/geometry.js'
import { findEdges } from './find-edges.js'
import { BASE, SOLID } from './find-light.js'
import { findPatches } from './find-patches.js'
import type { LocatedScan } from './locate-scan.js'

/**
 * Where to measure in one part of a scan (a patch of a row, a strip among others): solids and edges of that part alone. Clear film
 * is that of the whole scan where the part has none of its own: it is the same film.
 * @param inside whether a place of the scan belongs to the part, pixels
 */
export function locatePart(located: LocatedScan, inside: (place: PixelPoint) => boolean): LocatedScan {
  const { overview, scan } = located
  const part = partRegions(located, inside)
  const patches = findPatches(overview, part, scan.umPerPixel)
  return {
    ...located,
    regions: part,
    patches: patches.bases.length > 0 ? patches : { ...patches, bases: located.patches.bases },
    edges: findEdges(overview, part, scan.umPerPixel),
  }
}

/** The regions with ink and clear film of one part alone. */
export function partRegions(
  { overview, regions }: Pick<LocatedScan, 'overview' | 'regions'>,
  inside: (place: PixelPoint) => boolean,
): LocatedScan['regions'] {
  const labels = regions.labels.slice()
  for (let row = 0; row < overview.rows; row++)
    for (let column = 0; column < overview.columns; column++) {
      const i = row * overview.columns + column
      const label = labels[i]
      if (label !== SOLID && label !== BASE) continue
      if (!inside({ column: blockCentre(overview, column), row: blockCentre(overview, row) })) labels[i] = 0
    }
  return { ...regions, labels }
}

import { type BlockOverview, blockCentre, blockOverview } from '../imaging/block-overview.js'
import type { StraightEdge } from '../imaging/straight-edges.js'
import type { DensityScan } from '../model/light.js'
import { findEdges } from './find-edges.js'
import { findLight, type Regions } from './find-light.js'
import { type FoundPatches, findPatches } from './find-patches.js'
import { type LocatedStrip, locateStrips } from './locate-strips.js'

/** A scan on which it is known where to measure. */
export interface LocatedScan {
  readonly scan: DensityScan
  /** As the scanner saw it: not evened. */
  readonly overview: BlockOverview
  readonly regions: Regions
  readonly patches: FoundPatches
  readonly edges: readonly StraightEdge[]
  /** Control strips in view, likeliest first: their corners enclose what is not the artwork's. */
  readonly strips: readonly LocatedStrip[]
}

/** Side of an overview block: small against a 1 mm patch, large enough that a page of blocks stays small. */
export const OVERVIEW_BLOCK_UM = 169.3

/** Pixels to a side of a block of the overview. */
export function blockPixels({ across, along }: DensityScan['umPerPixel']): number {
  return Math.max(1, Math.round(OVERVIEW_BLOCK_UM / Math.sqrt(across * along)))
}

/**
 * Finds open light, holder, film, base, solids and straight edges in one pass over the page.
 * @param seen the page's overview through the same light scale, where it was made before
 */
export function locateScan(scan: DensityScan, seen?: BlockOverview): LocatedScan {
  const blockPx = blockPixels(scan.umPerPixel)
  const overview = seen?.blockPx === blockPx ? seen : blockOverview(scan.scan, blockPx, scan.light.transmittance)
  const even = evenlyLit(overview, scan.lit)
  const regions = findLight(even, scan.light.transmittance, scan.light.calibrated)
  return {
    scan,
    overview,
    regions,
    patches: findPatches(even, regions, scan.umPerPixel),
    edges: findEdges(even, regions, scan.umPerPixel),
    strips: locateStrips(scan, even, regions.base ?? regions.openLight ?? 0),
  }
}

/** The overview as an evenly lit glass would show it. */
function evenlyLit(overview: BlockOverview, lit: DensityScan['lit']): BlockOverview {
  if (lit === undefined) return overview
  const { columns, rows } = overview
  const light = new Float32Array(overview.light.length)
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++)
      light[r * columns + c] =
        overview.light[r * columns + c]! / lit(blockCentre(overview, c), blockCentre(overview, r))
  return { ...overview, light }
}

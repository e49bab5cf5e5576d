import type { BlockOverview } from '../imaging/block-overview.js'
import { blockCentre } from '../imaging/block-overview.js'
import type { GridPicture } from '../imaging/find-placement.js'

/** Which blocks of an overview are film, and the light of clear film; as locate/ finds them. */
export interface FilmRegions {
  /** 1: film of any kind; 0: open bed or holder. */
  readonly film: Uint8Array
  readonly base: number | null
  readonly openLight: number | null
}

/**
 * How much light each block of a scan holds back against clear film, 0 (clear, or no film) to 1: the same for one film whatever scanner,
 * exposure or holder. The rim of the film does not show: clear film and open bed both count as 0.
 */
export function inkPicture(
  overview: BlockOverview,
  regions: FilmRegions,
  umPerPixel: { readonly across: number; readonly along: number },
): GridPicture {
  const clear = regions.base ?? regions.openLight ?? overview.light.reduce((most, v) => Math.max(most, v), 0)
  const values = new Float32Array(overview.light.length)
  for (let i = 0; i < values.length; i++) {
    if (regions.film[i] === 0) continue
    const held = 1 - overview.light[i]! / clear
    values[i] = held > 0 ? Math.min(1, held) : 0
  }
  return {
    columns: overview.columns,
    rows: overview.rows,
    values,
    x0: blockCentre(overview, 0) * umPerPixel.across,
    y0: blockCentre(overview, 0) * umPerPixel.along,
    dx: overview.blockPx * umPerPixel.across,
    dy: overview.blockPx * umPerPixel.along,
  }
}

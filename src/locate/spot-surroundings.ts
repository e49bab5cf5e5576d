import type { BlockOverview } from '../imaging/block-overview.js'
import type { Spots } from '../imaging/find-spots.js'

/** What lies round a spot, by the light of the blocks there. */
export interface Surroundings {
  /** Share of a ring that is ink, so many of the spot's diameters (and at least a block) off its rim. */
  ink(spots: Spots, i: number, diameters: number): number
  /** Whether nothing but ink (round a dark spot: nothing but clear film) lies round it for three of its diameters. */
  plain(spots: Spots, i: number, dark: boolean): boolean
  /** Whether it lies in a wide ground of ink, as a word that is left open in it does: mostly ink to 2.5 mm away. */
  wideInk(spots: Spots, i: number): boolean
}

/** Places looked at on a ring. */
const LOOKS = 24
/** A plain ground is this much of one kind, one and a half and three diameters away. */
const PLAIN = 0.9
const PLAIN_DIAMETERS = [1, 1.5, 3] as const
/** Words cover a quarter to a third of their ground, black ones hardly half: more ink than that is a ground, though its edge may be near. */
const WIDE_INK = 0.5
const WIDE_UM = [1000, 1750, 2500] as const

/** @param span light of clear film less that of solids, which is `solid` */
export function surroundings(overview: BlockOverview, solid: number, span: number, um: number): Surroundings {
  const { columns, rows, blockPx, light } = overview
  const ring = (column: number, row: number, radius: number): number => {
    let dark = 0
    let seen = 0
    for (let k = 0; k < LOOKS; k++) {
      const a = (2 * Math.PI * k) / LOOKS
      const c = Math.round(column + radius * Math.cos(a))
      const r = Math.round(row + radius * Math.sin(a))
      if (c < 0 || r < 0 || c >= overview.scanWidth || r >= overview.scanHeight) continue
      seen++
      const block =
        Math.min(rows - 1, Math.floor(r / blockPx)) * columns + Math.min(columns - 1, Math.floor(c / blockPx))
      dark += Math.min(1, Math.max(0, 1 - (light[block]! - solid) / span))
    }
    return seen === 0 ? 0 : dark / seen
  }
  const ink: Surroundings['ink'] = (spots, i, diameters) => {
    const half = (spots.right[i]! - spots.left[i]! + spots.bottom[i]! - spots.top[i]! + 2) / 4
    const radius = half + Math.max(diameters * 2 * Math.sqrt(spots.cells[i]! / Math.PI), blockPx)
    return ring((spots.left[i]! + spots.right[i]!) / 2, (spots.top[i]! + spots.bottom[i]!) / 2, radius)
  }
  return {
    ink,
    plain(spots, i, dark) {
      return PLAIN_DIAMETERS.every(d => (dark ? 1 - ink(spots, i, d) : ink(spots, i, d)) >= PLAIN)
    },
    wideInk(spots, i) {
      const shares = WIDE_UM.map(far => ring(spots.column[i]!, spots.row[i]!, far / um))
      return shares.reduce((sum, share) => sum + share, 0) / shares.length >= WIDE_INK
    },
  }
}

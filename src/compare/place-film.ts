import { findPlacement, type GridPicture } from '../imaging/find-placement.js'
import { mapped, type PlaneMap } from '../imaging/fit-plane-map.js'
import { inverseMap } from '../imaging/inverse-map.js'
import { agreement, refinePlacement, valueAt } from '../imaging/refine-placement.js'
import type { FilmPlacement } from '../model/growth.js'

/** Where the film of one scan lies on another. */
export interface PlacedFilm {
  /** um of the baseline's scan to um of the new one. */
  readonly map: PlaneMap
  readonly placement: FilmPlacement
  /** Middles of the places that do not show the same, um on the new scan. */
  readonly differing: readonly { readonly x: number; readonly y: number }[]
  /** Places looked at. */
  readonly places: number
}

/** Ways to lie that are followed up. */
const FOLLOWED = 5
/** Ways that agree less than this share of the best are not. */
const LIKELY = 0.7
/** The coarse comparison's cell: this share of the longer side. */
const COARSE_SHARE = 1 / 110
/** Side of a place whose pattern is held against the other scan, um. */
const PLACE_UM = 3000
/** Root mean square of a place's pattern about its mean, shares of full ink; less is no pattern. */
const LEAST_PATTERN = 0.08
/** A place shows the same when its correlation is at least this, or what is left is no pattern. */
const SAME_CORRELATION = 0.75
/** A pattern must lie in view with this share of its cells. */
const IN_VIEW = 0.9

/**
 * Lays the baseline's film on a new scan by the film's own pattern: any turn, mirrored or not, any shift, another resolution, partly out of
 * view. `placement.matched` tells whether it is the same film; the map is only as good as that.
 * @returns null when either scan shows too little to hold on to
 */
export function placeFilm(before: GridPicture, after: GridPicture): PlacedFilm | null {
  const longest = Math.max(
    before.columns * before.dx,
    before.rows * before.dy,
    after.columns * after.dx,
    after.rows * after.dy,
  )
  const fine = Math.max(before.dx, before.dy, after.dx, after.dy)
  const coarse = Math.max(longest * COARSE_SHARE, fine)
  let best: { map: PlaneMap; score: number; mirrored: boolean } | null = null
  const ways = findPlacement(before, after)
  const likely = LIKELY * (ways[0]?.correlation ?? 0)
  for (const way of ways.filter(({ correlation }) => correlation >= likely).slice(0, FOLLOWED)) {
    const map = refinePlacement(before, after, way.map, { fromCell: coarse, toCell: Math.max(fine, coarse / 2) })
    if (map === null) continue
    const { correlation, inView } = agreement(before, after, map, Math.max(fine, coarse / 2))
    const score = correlation * Math.sqrt(Math.min(1, inView))
    if (best === null || score > best.score) best = { map, score, mirrored: way.mirrored }
  }
  if (best === null) return null
  const map = refinePlacement(before, after, best.map, { fromCell: Math.max(fine, coarse / 2), toCell: fine })
  if (map === null) return null
  const scale = { across: Math.hypot(map.xx, map.yx), along: Math.hypot(map.xy, map.yy) }
  const back = inverseMap(map)
  const own = heldAgainst(before, after, map)
  const other = heldAgainst(after, before, back)
  const places = own.inView + other.inView
  return {
    map,
    placement: {
      turnDegrees: (Math.atan2(map.yx, map.xx) * 180) / Math.PI,
      mirrored: best.mirrored,
      scale,
      matched: places > 0 ? (own.same + other.same) / places : 0,
      inView: own.all > 0 ? own.inView / own.all : 0,
    },
    differing: [...own.differing.map(p => mapped(map, p.x, p.y)), ...other.differing],
    places,
  }
}

/** Every place of a picture that has a pattern, held against the other picture. */
function heldAgainst(
  picture: GridPicture,
  other: GridPicture,
  map: PlaneMap,
): { all: number; inView: number; same: number; differing: { x: number; y: number }[] } {
  const wide = Math.max(4, Math.round(PLACE_UM / picture.dx))
  const high = Math.max(4, Math.round(PLACE_UM / picture.dy))
  const found = { all: 0, inView: 0, same: 0, differing: [] as { x: number; y: number }[] }
  for (let top = 0; top + high <= picture.rows; top += high)
    for (let left = 0; left + wide <= picture.columns; left += wide) {
      let sum = 0
      let squares = 0
      for (let r = top; r < top + high; r++)
        for (let c = left; c < left + wide; c++) {
          const value = picture.values[r * picture.columns + c]!
          sum += value
          squares += value * value
        }
      const n = wide * high
      const pattern = squares / n - (sum / n) ** 2
      if (!(pattern > LEAST_PATTERN ** 2)) continue
      found.all++
      let seen = 0
      let sa = 0
      let sb = 0
      let saa = 0
      let sbb = 0
      let sab = 0
      for (let r = top; r < top + high; r++)
        for (let c = left; c < left + wide; c++) {
          const to = mapped(map, picture.x0 + c * picture.dx, picture.y0 + r * picture.dy)
          const b = valueAt(other, to.x, to.y)
          if (b === null) continue
          const a = picture.values[r * picture.columns + c]!
          seen++
          sa += a
          sb += b
          saa += a * a
          sbb += b * b
          sab += a * b
        }
      if (!(seen >= IN_VIEW * n)) continue
      found.inView++
      const va = saa - (sa * sa) / seen
      const vb = sbb - (sb * sb) / seen
      const correlation = va > 0 && vb > 0 ? (sab - (sa * sb) / seen) / Math.sqrt(va * vb) : 0
      if (correlation >= SAME_CORRELATION) found.same++
      else
        found.differing.push({
          x: picture.x0 + (left + wide / 2) * picture.dx,
          y: picture.y0 + (top + high / 2) * picture.dy,
        })
    }
  return found
}

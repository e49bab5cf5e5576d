import type { PlaneMap } from '../imaging/fit-plane-map.js'
import { type InkGrid, inkAt } from '../imaging/ink-grid.js'
import { inverseMap } from '../imaging/inverse-map.js'
import { solveLinear } from '../imaging/solve-linear.js'

/** Rim round the artwork that is compared too, cells: an artwork ends in clear film. */
const RIM_CELLS = 2
/** Residuals of this share of ink and more count for little: missing pieces, dust, text that was added. */
const OUTLYING = 0.25
const SETTLED_CELLS = 0.01
const FEWEST_CELLS = 24

/** How alike artwork and film are under a map. */
export interface Likeness {
  /** Correlation of ink over the artwork's frame where the scan shows it, -1..1. */
  readonly correlation: number
  /** Share of the artwork's ink that lies on the scan, 0..1. */
  readonly onScan: number
}

/** Correlation of ink, artwork against film, over the artwork's frame and a rim of clear film round it. */
export function likeness(art: InkGrid, film: InkGrid, map: PlaneMap): Likeness {
  let n = 0
  let sa = 0
  let sb = 0
  let saa = 0
  let sbb = 0
  let sab = 0
  let seen = 0
  overlap(art, film, map, (i, _x, _y, a) => {
    const b = film.ink[i]!
    n++
    sa += a
    sb += b
    saa += a * a
    sbb += b * b
    sab += a * b
    seen += a
  })
  let total = 0
  for (let i = 0; i < art.ink.length; i++) total += art.ink[i]! * art.known[i]!
  const cell = (film.pitchX * film.pitchY) / Math.abs(map.xx * map.yy - map.xy * map.yx)
  const va = saa - (sa * sa) / n
  const vb = sbb - (sb * sb) / n
  return {
    correlation: n >= FEWEST_CELLS && va > 0 && vb > 0 ? (sab - (sa * sb) / n) / Math.sqrt(va * vb) : 0,
    onScan: total > 0 ? Math.min(1, (seen * cell) / (total * art.pitchX * art.pitchY)) : 0,
  }
}

/** Side of a window that is compared by itself, mm: larger than any letter that matters, small against a page. */
const AGREE_MM = 4
/** A window shows something when its ink varies by this much (one sigma). */
const SHOWS = 0.08
/** Windows this alike show the same. */
const SAME = 0.8
const FEWEST_WINDOW_CELLS = 60

/**
 * Share of the artwork's windows in view that show the same on the film, by how much they show. Unlike the correlation of the whole,
 * it is not pulled down by pieces that are missing or added, and of another job hardly any window agrees.
 */
export function agreement(art: InkGrid, film: InkGrid, map: PlaneMap): number {
  const back = inverseMap(map)
  const across = Math.ceil((art.columns * art.pitchX) / AGREE_MM)
  const down = Math.ceil((art.rows * art.pitchY) / AGREE_MM)
  const sums = new Float64Array(across * down * 6)
  overlap(art, film, map, (i, x, y, a) => {
    const u = Math.floor((back.x0 + back.xx * x + back.xy * y) / AGREE_MM)
    const v = Math.floor((back.y0 + back.yx * x + back.yy * y) / AGREE_MM)
    const at = (Math.min(down - 1, Math.max(0, v)) * across + Math.min(across - 1, Math.max(0, u))) * 6
    const b = film.ink[i]!
    sums[at]! += 1
    sums[at + 1]! += a
    sums[at + 2]! += b
    sums[at + 3]! += a * a
    sums[at + 4]! += b * b
    sums[at + 5]! += a * b
  })
  let shown = 0
  let same = 0
  for (let at = 0; at < sums.length; at += 6) {
    const n = sums[at]!
    if (!(n >= FEWEST_WINDOW_CELLS)) continue
    const va = sums[at + 3]! / n - (sums[at + 1]! / n) ** 2
    if (!(va > SHOWS * SHOWS)) continue
    const vb = sums[at + 4]! / n - (sums[at + 2]! / n) ** 2
    const covariance = sums[at + 5]! / n - (sums[at + 1]! / n) * (sums[at + 2]! / n)
    const weight = Math.sqrt(va)
    shown += weight
    if (vb > 0 && covariance > SAME * Math.sqrt(va * vb)) same += weight
  }
  return shown > 0 ? same / shown : 0
}

/** Visits every known cell of the film that lies on the artwork or its rim, with the artwork's ink there. */
function overlap(
  art: InkGrid,
  film: InkGrid,
  map: PlaneMap,
  visit: (cell: number, x: number, y: number, ink: number) => void,
): void {
  const back = inverseMap(map)
  const left = art.x0 - (0.5 + RIM_CELLS) * art.pitchX
  const top = art.y0 - (0.5 + RIM_CELLS) * art.pitchY
  const right = left + (art.columns + 2 * RIM_CELLS) * art.pitchX
  const bottom = top + (art.rows + 2 * RIM_CELLS) * art.pitchY
  for (let r = 0; r < film.rows; r++) {
    const y = film.y0 + r * film.pitchY
    for (let c = 0; c < film.columns; c++) {
      const i = r * film.columns + c
      if (!(film.known[i]! > 0.5)) continue
      const x = film.x0 + c * film.pitchX
      const u = back.x0 + back.xx * x + back.xy * y
      const v = back.y0 + back.yx * x + back.yy * y
      if (!(u > left && u < right && v > top && v < bottom)) continue
      visit(i, x, y, inkAt(art, art.ink, u, v))
    }
  }
}

/**
 * The affine map improved by gradients over the whole picture (Lucas & Kanade, IJCAI 1981), with the film's own ink gain, contrast
 * and veil free, and missing or added pieces counting for little. Converges from about one cell off.
 * @param map artwork mm to scan mm
 */
export function fitOverview(art: InkGrid, film: InkGrid, map: PlaneMap, rounds: number): PlaneMap {
  let current = map
  const stepX = Math.max(art.pitchX, 1e-9)
  const cell = Math.sqrt(film.pitchX * film.pitchY)
  for (let round = 0; round < rounds; round++) {
    const back = inverseMap(current)
    const middle = placeOf(current, art.x0 + (art.columns / 2) * art.pitchX, art.y0 + (art.rows / 2) * art.pitchY)
    const reach = Math.max(art.columns * art.pitchX, art.rows * art.pitchY) / 2
    const p = 9
    const h = new Float64Array(p * p)
    const rhs = new Float64Array(p)
    const row = new Float64Array(p)
    let n = 0
    overlap(art, film, current, (i, x, y, ink) => {
      const u = back.x0 + back.xx * x + back.xy * y
      const v = back.y0 + back.yx * x + back.yy * y
      const du = (inkAt(art, art.ink, u + stepX / 2, v) - inkAt(art, art.ink, u - stepX / 2, v)) / stepX
      const dv = (inkAt(art, art.ink, u, v + stepX / 2) - inkAt(art, art.ink, u, v - stepX / 2)) / stepX
      // Gradient on the scan, by the chain rule.
      const gx = du * back.xx + dv * back.yx
      const gy = du * back.xy + dv * back.yy
      const off = film.ink[i]! - ink
      const share = off / OUTLYING
      const weight = 1 / (1 + share * share) ** 2
      const a = (x - middle.x) / reach
      const b = (y - middle.y) / reach
      row[0] = -gx
      row[1] = -gx * a
      row[2] = -gx * b
      row[3] = -gy
      row[4] = -gy * a
      row[5] = -gy * b
      row[6] = Math.sqrt(gx * gx + gy * gy)
      row[7] = ink
      row[8] = 1
      for (let j = 0; j < p; j++) {
        rhs[j]! += weight * row[j]! * off
        for (let k = j; k < p; k++) h[j * p + k]! += weight * row[j]! * row[k]!
      }
      n++
    })
    if (n < FEWEST_CELLS) return current
    for (let j = 0; j < p; j++) for (let k = 0; k < j; k++) h[j * p + k] = h[k * p + j]!
    // A faint pull to no change keeps directions without any edge where they are.
    for (let j = 0; j < 7; j++) h[j * p + j]! += 1e-4 * n
    for (let j = 7; j < p; j++) h[j * p + j]! += 1e-3 * n
    const step = solveLinear(h, rhs, p)
    if (step === null) return current
    const most = Math.max(
      Math.abs(step[0]!) + Math.abs(step[1]!) + Math.abs(step[2]!),
      Math.abs(step[3]!) + Math.abs(step[4]!) + Math.abs(step[5]!),
    )
    // More than two cells at once is beyond what gradients can know.
    const share = Math.min(1, (2 * cell) / Math.max(most, 1e-12))
    const ax = (share * step[1]!) / reach
    const ay = (share * step[2]!) / reach
    const bx = (share * step[4]!) / reach
    const by = (share * step[5]!) / reach
    current = moved(current, {
      x0: share * step[0]! - ax * middle.x - ay * middle.y,
      y0: share * step[3]! - bx * middle.x - by * middle.y,
      xx: ax,
      xy: ay,
      yx: bx,
      yy: by,
    })
    if (most < SETTLED_CELLS * cell) break
  }
  return current
}

/** The map followed by a small move: s becomes s + move(s). */
export function moved(map: PlaneMap, move: PlaneMap): PlaneMap {
  return {
    x0: map.x0 + move.x0 + move.xx * map.x0 + move.xy * map.y0,
    y0: map.y0 + move.y0 + move.yx * map.x0 + move.yy * map.y0,
    xx: map.xx + move.xx * map.xx + move.xy * map.yx,
    xy: map.xy + move.xx * map.xy + move.xy * map.yy,
    yx: map.yx + move.yx * map.xx + move.yy * map.yx,
    yy: map.yy + move.yx * map.xy + move.yy * map.yy,
  }
}

function placeOf(map: PlaneMap, x: number, y: number): { x: number; y: number } {
  return { x: map.x0 + map.xx * x + map.xy * y, y: map.y0 + map.yx * x + map.yy * y }
}

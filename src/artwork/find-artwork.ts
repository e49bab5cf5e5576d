import type { PlaneMap } from '../imaging/fit-plane-map.js'
import { type ComplexPlane, complexPlane, transformPlane } from '../imaging/fourier-plane.js'
import { type InkGrid, inkAt, reducedGrid, smoothedGrid } from '../imaging/ink-grid.js'
import { agreement, fitOverview, type Likeness, likeness } from './fit-overview.js'

/** Longest side of the coarsest look, cells. */
const COARSE_CELLS = 56
/** Side of the planes that are correlated: artwork across its diagonal and film side by side. */
const PLANE = 128
/** Turns are tried this far apart, degrees: a rim cell then moves by no more than a cell and a half. */
const TURN_STEP = 3
/** So many of the best coarse places are looked at more closely. */
const CANDIDATES = 8
/** Longest side of the finest look, cells: places are then known to some hundredths of a millimetre. */
const FINE_CELLS = 400
/** A place found along the film's own straight edges that is this good, or agrees so far, needs no search through all turns. */
const SURE = { correlation: 0.85, agreement: 0.6 }
/** At least this share of the artwork's ink must lie on the scan for a place to count fully. */
const SEEN_SHARE = 0.3
const ROUNDS = 12
/** So many of the highest places of all correlations are compared cell by cell. */
const HEARD = 40

export interface FoundArtwork extends Likeness {
  /** Artwork mm to scan mm. */
  readonly map: PlaneMap
  readonly mirrored: boolean
}

type Linear = Pick<PlaneMap, 'xx' | 'xy' | 'yx' | 'yy'>

interface Candidate {
  readonly map: PlaneMap
  readonly mirrored: boolean
  readonly score: number
}

/**
 * Where an artwork lies on a film: turned by anything, mirrored or not, shifted, each axis up to a few percent off. First the
 * overview is correlated with the artwork at turns that the film's straight edges suggest (any turn when those do not fit), then
 * the best places are refined from coarse to fine. The best place found, however poor: whether it is the artwork at all
 * is told by its likeness.
 * @param turns how the film's straight lines lie, degrees, by quarter turn; may be empty
 */
export function findArtwork(art: InkGrid, film: InkGrid, turns: readonly number[]): FoundArtwork {
  const longest = Math.max(
    art.columns * art.pitchX,
    art.rows * art.pitchY,
    film.columns * film.pitchX,
    film.rows * film.pitchY,
  )
  const coarse = longest / COARSE_CELLS
  const small = { art: even(art, coarse), film: even(film, coarse) }
  const plane = transformed(small.film)
  const quarterTurns = (angle: number) => [0, 90, 180, 270].map(quarter => angle + quarter)
  const near = best(small, plane, [...new Set(turns)].flatMap(quarterTurns))
  const first = near.length === 0 ? null : closest(art, film, near)
  if (first !== null && first.correlation >= SURE.correlation) return first
  if (first !== null && agreement(art, film, first.map) >= SURE.agreement) return first
  const all = best(
    small,
    plane,
    Array.from({ length: 360 / TURN_STEP }, (_, k) => k * TURN_STEP),
  )
  const second = closest(art, film, all)
  return first !== null && worth(first) >= worth(second) ? first : second
}

/** Correlation, less when little of the artwork is on the scan: a corner alone may be like anything. */
function worth({ correlation, onScan }: Likeness): number {
  return correlation * Math.min(1, onScan / SEEN_SHARE)
}

/** An artwork that looks the same mirrored is not said to be mirrored, nor turned more than it need be. */
function preferred(found: FoundArtwork): number {
  const upright = found.map.yy > Math.abs(found.map.xy)
  return worth(found) - (found.mirrored ? 0.006 : 0) - (upright ? 0 : 0.003)
}

/** The grid in square cells of a pitch, mm. */
function even(grid: InkGrid, pitch: number): InkGrid {
  const reduced = smoothedGrid(
    reducedGrid(grid, Math.max(1, Math.round(pitch / grid.pitchX)), Math.max(1, Math.round(pitch / grid.pitchY))),
    1,
  )
  const columns = Math.max(1, Math.ceil((grid.columns * grid.pitchX) / pitch))
  const rows = Math.max(1, Math.ceil((grid.rows * grid.pitchY) / pitch))
  const x0 = grid.x0 - grid.pitchX / 2 + pitch / 2
  const y0 = grid.y0 - grid.pitchY / 2 + pitch / 2
  const at = (values: Float32Array) =>
    Float32Array.from({ length: columns * rows }, (_, i) =>
      inkAt(reduced, values, x0 + (i % columns) * pitch, y0 + Math.floor(i / columns) * pitch),
    )
  return { columns, rows, pitchX: pitch, pitchY: pitch, x0, y0, ink: at(reduced.ink), known: at(reduced.known) }
}

/** Ink less its surroundings: large areas would drown everything else. */
function sharpened(grid: InkGrid): Float32Array {
  const around = smoothedGrid(grid, 12).ink
  return grid.ink.map((ink, i) => (ink - around[i]!) * (grid.known[i]! > 0.5 ? 1 : 0))
}

function transformed(film: InkGrid): ComplexPlane {
  const plane = complexPlane(PLANE)
  const ink = sharpened(film)
  for (let r = 0; r < film.rows; r++)
    for (let c = 0; c < film.columns; c++) plane.re[r * PLANE + c] = ink[r * film.columns + c]!
  transformPlane(plane, false)
  return plane
}

/** The best coarse places over some turns, mirrored and not, best first. */
function best(
  { art, film }: { readonly art: InkGrid; readonly film: InkGrid },
  filmPlane: ComplexPlane,
  turns: readonly number[],
): Candidate[] {
  const ink = sharpened(art)
  const found: Candidate[] = []
  const middleX = (art.columns / 2) * art.pitchX
  const middleY = (art.rows / 2) * art.pitchY
  const pitch = film.pitchX
  const half = PLANE / 2
  const reach = Math.hypot(middleX, middleY)
  const heard: { column: number; row: number; height: number; linear: Linear; mirrored: boolean }[] = []
  for (const turn of turns)
    for (const mirrored of [false, true]) {
      const cos = Math.cos((turn * Math.PI) / 180)
      const sin = Math.sin((turn * Math.PI) / 180)
      const sign = mirrored ? -1 : 1
      // Artwork about its middle, mirrored, then turned, onto the middle of the plane.
      const linear = { xx: sign * cos, xy: -sin, yx: sign * sin, yy: cos }
      const plane = complexPlane(PLANE)
      for (let r = 0; r < PLANE; r++)
        for (let c = 0; c < PLANE; c++) {
          const x = (c - half) * pitch
          const y = (r - half) * pitch
          // The inverse of a turn and a mirror is its transpose.
          const u = linear.xx * x + linear.yx * y + middleX
          const v = linear.xy * x + linear.yy * y + middleY
          plane.re[r * PLANE + c] = inkAt(art, ink, u, v)
        }
      transformPlane(plane, false)
      for (let i = 0; i < plane.re.length; i++) {
        const re = plane.re[i]!
        const im = plane.im[i]!
        const fr = filmPlane.re[i]!
        const fi = filmPlane.im[i]!
        plane.re[i] = fr * re + fi * im
        plane.im[i] = fi * re - fr * im
      }
      transformPlane(plane, true)
      for (const peak of peaks(plane.re)) heard.push({ ...peak, linear, mirrored })
    }
  heard.sort((a, b) => b.height - a.height)
  // The plane is a ring: a shift may stand for itself or for one a whole round back.
  for (const { column, row, linear, mirrored } of heard.slice(0, HEARD))
    for (const dc of [column, column - PLANE])
      for (const dr of [row, row - PLANE]) {
        const x = film.x0 + (dc + half) * pitch
        const y = film.y0 + (dr + half) * pitch
        const outX = x - film.x0 - (film.columns * pitch) / 2
        const outY = y - film.y0 - (film.rows * pitch) / 2
        if (!(Math.abs(outX) < (film.columns * pitch) / 2 + reach && Math.abs(outY) < (film.rows * pitch) / 2 + reach))
          continue
        const map = {
          ...linear,
          x0: x - linear.xx * middleX - linear.xy * middleY,
          y0: y - linear.yx * middleX - linear.yy * middleY,
        }
        found.push({ map, mirrored, score: worth(likeness(art, film, map)) })
      }
  return found.sort((a, b) => b.score - a.score).slice(0, CANDIDATES)
}

/** The two highest places of a correlation that are not neighbours. */
function peaks(values: Float64Array): { column: number; row: number; height: number }[] {
  const found: { column: number; row: number; height: number }[] = []
  for (let k = 0; k < 2; k++) {
    let most = Number.NEGATIVE_INFINITY
    let at = -1
    for (let i = 0; i < values.length; i++) {
      if (!(values[i]! > most)) continue
      const column = i % PLANE
      const row = Math.floor(i / PLANE)
      if (found.some(p => Math.abs(p.column - column) < 4 && Math.abs(p.row - row) < 4)) continue
      most = values[i]!
      at = i
    }
    if (at >= 0) found.push({ column: at % PLANE, row: Math.floor(at / PLANE), height: most })
  }
  return found
}

/** Refines candidates from coarse to fine; weak ones are dropped on the way. */
function closest(art: InkGrid, film: InkGrid, candidates: readonly Candidate[]): FoundArtwork {
  const longest = Math.max(film.columns, film.rows)
  let remaining = candidates.map(({ map, mirrored }) => ({ map, mirrored, correlation: 0, onScan: 0 }))
  const factors: number[] = []
  for (let cells = COARSE_CELLS; ; cells *= 2) {
    const factor = Math.max(1, Math.round(longest / cells))
    if (factors.at(-1) !== factor) factors.push(factor)
    if (factor === 1 || cells >= FINE_CELLS) break
  }
  factors.forEach((factor, level) => {
    const reduced = {
      art: reducedGrid(
        art,
        Math.max(1, Math.round((factor * film.pitchX) / art.pitchX)),
        Math.max(1, Math.round((factor * film.pitchY) / art.pitchY)),
      ),
      film: reducedGrid(film, factor, factor),
    }
    const times = level < 2 ? 2 : 1
    const smooth = { art: smoothedGrid(reduced.art, times), film: smoothedGrid(reduced.film, times) }
    remaining = remaining.map(({ map, mirrored }) => {
      const better = fitOverview(smooth.art, smooth.film, map, ROUNDS)
      const kept = plausible(better) ? better : map
      return { map: kept, mirrored, ...likeness(reduced.art, reduced.film, kept) }
    })
    remaining.sort((a, b) => preferred(b) - preferred(a))
    remaining = remaining.slice(0, level === 0 ? 4 : level === 1 ? 2 : 1)
  })
  return remaining[0]!
}

/** Axes within 6 % of their length and 4 degrees of square: no film is worse, and no map may collapse. */
function plausible(map: PlaneMap): boolean {
  const a = Math.hypot(map.xx, map.yx)
  const b = Math.hypot(map.xy, map.yy)
  const skew = (map.xx * map.xy + map.yx * map.yy) / (a * b)
  return Math.abs(a - 1) < 0.06 && Math.abs(b - 1) < 0.06 && Math.abs(skew) < 0.07
}

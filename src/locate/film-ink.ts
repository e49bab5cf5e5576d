import { blockCentre } from '../imaging/block-overview.js'
import type { InkGrid } from '../imaging/ink-grid.js'
import { pageFloats } from '../imaging/page-room.js'
import { HOLDER } from './find-light.js'
import type { LocatedScan } from './locate-scan.js'

/** Blocks of longer pages are joined two by two: finer than this, places are found no better. */
const MOST_CELLS = 1400

/** Share of ink as the film's light tells it. */
export interface FilmInk {
  /** Of all of the scan; what the holder hides is not known. */
  readonly ink: InkGrid
  /** The same with everything that is no film unknown. */
  readonly onFilm: InkGrid
}

/**
 * Share of ink in each block of the scan, or in two by two of them on large pages: 1 less light over that of clear film, cut to 0..1. Light is averaged
 * by area, so a tint comes out as its share of ink.
 */
export function filmInk({ overview, regions, scan }: LocatedScan): FilmInk {
  const { blockPx, light } = overview
  const { labels, film } = regions
  const { across, along } = scan.umPerPixel
  const clear = regions.base ?? regions.openLight ?? greatest(light)
  const joined = Math.max(1, Math.ceil(Math.max(overview.columns, overview.rows) / MOST_CELLS))
  const columns = Math.ceil(overview.columns / joined)
  const rows = Math.ceil(overview.rows / joined)
  const ink = pageFloats(columns * rows)
  const known = pageFloats(columns * rows)
  const filmed = pageFloats(columns * rows)
  // A row at a time, so that the loop is soon compiled.
  const row = (r: number): void => {
    const bottom = Math.min(overview.rows, (r + 1) * joined)
    for (let c = 0; c < columns; c++) {
      const right = Math.min(overview.columns, (c + 1) * joined)
      let sum = 0
      let seen = 0
      let on = 0
      for (let y = r * joined; y < bottom; y++)
        for (let i = y * overview.columns + c * joined, end = y * overview.columns + right; i < end; i++) {
          if (labels[i] === HOLDER) continue
          seen++
          if (film[i] === 1) on++
          if (clear > 0) sum += Math.min(1, Math.max(0, 1 - light[i]! / clear))
        }
      const into = r * columns + c
      ink[into] = seen > 0 ? sum / seen : 0
      known[into] = seen / (joined * joined)
      filmed[into] = on / (joined * joined)
    }
  }
  for (let r = 0; r < rows; r++) row(r)
  const middle = blockCentre(overview, 0) + ((joined - 1) / 2) * blockPx
  const grid = {
    columns,
    rows,
    pitchX: (joined * blockPx * across) / 1000,
    pitchY: (joined * blockPx * along) / 1000,
    x0: (middle * across) / 1000,
    y0: (middle * along) / 1000,
    ink,
  }
  return { ink: { ...grid, known }, onFilm: { ...grid, known: filmed } }
}

function greatest(light: Float32Array): number {
  let most = 0
  for (const value of light) if (value > most) most = value
  return most
}

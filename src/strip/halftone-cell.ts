import { type Dpi, MM_PER_INCH } from '../model/geometry.js'
import { ProblemError } from '../model/problem.js'

/** A screen of dots: lines per inch, and the angle of its rows from u towards v, degrees. */
export interface Screen {
  readonly ruling: number
  readonly angle: number
}

/** A tile of whole printer pixels that repeats without seam and holds `dots * dots` dots. */
export interface HalftoneCell {
  /** The tile's two sides, printer pixels. */
  readonly first: { readonly columns: number; readonly rows: number }
  readonly second: { readonly columns: number; readonly rows: number }
  /** Dots along each side. */
  readonly dots: number
  /** Pixels of the tile: a tint is true to one of them. */
  readonly pixels: number
  /** What the whole pixels make of the screen asked for: mean of both sides. */
  readonly screen: Screen
}

/** How near the tile must come to the screen asked for: half of what the readings are to be true to (0.2 lines/in, 0.1 degrees). */
const RULING_WITHIN = 0.1
const ANGLE_WITHIN = 0.05
/** Fewest pixels of a tile: a tint is then rounded by 0.025 % at most, a fortieth of the 1 % its reading is to be true to. */
const FEWEST_PIXELS = 2000
/** Most dots along a side; larger tiles gain nothing a reading could tell. */
const MOST_DOTS = 16

/** Fewest printer pixels from dot to dot: with less there is no dot to speak of. */
const FEWEST_PER_DOT = 3

/**
 * The smallest tile of whole printer pixels that comes near a screen (a rational tangent screen, with several dots a tile
 * where one does not do). Pixels need not be square.
 * @throws ProblemError STRIP_RULING_TOO_FINE
 */
export function halftoneCell(screen: Screen, dpi: Dpi): HalftoneCell {
  if (Math.min(dpi.across, dpi.along) < FEWEST_PER_DOT * screen.ruling)
    throw new ProblemError(
      'STRIP_RULING_TOO_FINE',
      `${screen.ruling} lines/in at ${Math.min(dpi.across, dpi.along)} dpi`,
    )
  const turn = (screen.angle * Math.PI) / 180
  let best: { readonly cell: HalftoneCell; readonly off: number } | null = null
  for (let dots = 1; dots <= MOST_DOTS; dots++) {
    const pitch = dots / screen.ruling
    const first = {
      columns: Math.round(pitch * Math.cos(turn) * dpi.across),
      rows: Math.round(pitch * Math.sin(turn) * dpi.along),
    }
    const second = {
      columns: Math.round(-pitch * Math.sin(turn) * dpi.across),
      rows: Math.round(pitch * Math.cos(turn) * dpi.along),
    }
    const pixels = first.columns * second.rows - first.rows * second.columns
    if (pixels < 4) continue
    const sides = [sideScreen(first, dots, dpi, 0), sideScreen(second, dots, dpi, 90)]
    const off = Math.max(
      ...sides.map(side =>
        Math.max(
          Math.abs(side.ruling - screen.ruling) / RULING_WITHIN,
          Math.abs(turnedBy(side.angle, screen.angle)) / ANGLE_WITHIN,
        ),
      ),
      FEWEST_PIXELS / pixels,
    )
    const mean = {
      ruling: (sides[0]!.ruling + sides[1]!.ruling) / 2,
      angle: screen.angle + (turnedBy(sides[0]!.angle, screen.angle) + turnedBy(sides[1]!.angle, screen.angle)) / 2,
    }
    if (best === null || off < best.off) best = { cell: { first, second, dots, pixels, screen: mean }, off }
    if (best.off <= 1) break
  }
  return best!.cell
}

/** Ruling and angle that one side of a tile makes; `quarter` is 90 for the side that stands across. */
export function sideScreen(
  side: { readonly columns: number; readonly rows: number },
  dots: number,
  dpi: Dpi,
  quarter: 0 | 90,
): Screen {
  const u = (side.columns / dpi.across) * MM_PER_INCH
  const v = (side.rows / dpi.along) * MM_PER_INCH
  return { ruling: (dots * MM_PER_INCH) / Math.hypot(u, v), angle: (Math.atan2(v, u) * 180) / Math.PI - quarter }
}

/** Difference of two angles of a screen, which looks the same every quarter turn: -45 to 45. */
function turnedBy(a: number, b: number): number {
  const d = (((a - b) % 90) + 90) % 90
  return d > 45 ? d - 90 : d
}

/**
 * The order in which the tile's pixels turn to ink: round dots that grow from their middles, round holes from half the
 * area on (sum of two cosines along and across the rows).
 * @returns for any pixel its rank, 0 .. pixels - 1: it is ink in a tint of share a when its rank is below a * pixels
 */
export function dotOrder(cell: HalftoneCell): (column: number, row: number) => number {
  const { first, second, dots, pixels } = cell
  const width = spanOf(first.columns, second.columns)
  const height = spanOf(first.rows, second.rows)
  /** A pixel's place in the tile that begins at the origin: whole arithmetic, so that no pixel falls between two tiles. */
  const home = (column: number, row: number): number => {
    const along = Math.floor((column * second.rows - row * second.columns) / pixels)
    const across = Math.floor((row * first.columns - column * first.rows) / pixels)
    const c = column - along * first.columns - across * second.columns
    const r = row - along * first.rows - across * second.rows
    return (r - height.from) * width.count + (c - width.from)
  }
  const found: { readonly at: number; readonly dark: number; readonly tie: number }[] = []
  const seen = new Set<number>()
  for (let r = height.from; r < height.from + height.count; r++)
    for (let c = width.from; c < width.from + width.count; c++) {
      const at = home(c, r)
      if (seen.has(at)) continue
      seen.add(at)
      const homeRow = Math.floor(at / width.count) + height.from + 0.5
      const homeColumn = (at % width.count) + width.from + 0.5
      const along = ((homeColumn * second.rows - homeRow * second.columns) / pixels) * dots
      const across = ((homeRow * first.columns - homeColumn * first.rows) / pixels) * dots
      found.push({
        at,
        dark: Math.cos(2 * Math.PI * along) + Math.cos(2 * Math.PI * across),
        // Pixels alike in every dot take turns over the tile, not row by row, so that no corner of it is darker.
        tie: ((Math.floor(along) * 7 + Math.floor(across) * 3) % dots) + at / (width.count * height.count + 1),
      })
    }
  found.sort((a, b) => (Math.abs(b.dark - a.dark) > 1e-9 ? b.dark - a.dark : a.tie - b.tie))
  const ranks = new Int32Array(width.count * height.count).fill(-1)
  found.forEach(({ at }, rank) => {
    ranks[at] = rank
  })
  return (column, row) => ranks[home(column, row)]!
}

/** Columns (or rows) that the tile at the origin may touch. */
function spanOf(a: number, b: number): { readonly from: number; readonly count: number } {
  const from = Math.min(0, a) + Math.min(0, b)
  return { from, count: Math.max(0, a) + Math.max(0, b) - from + 1 }
}

import type { BlockOverview } from '../imaging/block-overview.js'
import { blockCentre } from '../imaging/block-overview.js'
import type { SolidArea } from '../model/located.js'
import { BASE, OPEN_LIGHT, type Regions, SOLID } from './find-light.js'

/** Clear of every edge by this much, mm: three sigma of bleed and optics, and a block more where the mask is turned. */
const MARGIN_MM = 0.5
/** A solid must hold some three pitches of the finest banding and a few tiles of mottle, mm. */
const LEAST_SIDE_MM = 4
/** Six pitches of the longest banding are enough, and memory stays small, mm. */
const LONGEST_SIDE_MM = 30
/** So much solid tells the ripple of a page, mm2. More costs time. */
const MOST_AREA_MM2 = 1500
const MOST_AREAS = 5
/** Of turned masks this pitch is fine enough, mm. */
const CELL_MM = 0.2

/**
 * The largest rectangles of solid ink whose sides lie along the film's axes, largest first.
 * @param turn of the film's axes, degrees from the rows towards the columns
 */
export function largeSolids(
  overview: BlockOverview,
  regions: Regions,
  umPerPixel: { readonly across: number; readonly along: number },
  turn: number,
): SolidArea[] {
  return rectangles(overview, regions, SOLID, umPerPixel, turn, MOST_AREAS)
}

/** The largest rectangle of clear film or else of open light that lies square on the scan: what of a ripple is the scanner's own shows there. Null when there is none. */
export function clearArea(
  overview: BlockOverview,
  regions: Regions,
  umPerPixel: { readonly across: number; readonly along: number },
): SolidArea | null {
  const of = (label: number) => rectangles(overview, regions, label, umPerPixel, 0, 1)[0] ?? null
  return of(BASE) ?? of(OPEN_LIGHT)
}

function rectangles(
  overview: BlockOverview,
  regions: Regions,
  label: number,
  umPerPixel: { readonly across: number; readonly along: number },
  turn: number,
  mostAreas: number,
): SolidArea[] {
  const mmX = umPerPixel.across / 1000
  const mmY = umPerPixel.along / 1000
  const widthMm = overview.scanWidth * mmX
  const heightMm = overview.scanHeight * mmY
  const cos = Math.cos((turn * Math.PI) / 180)
  const sin = Math.sin((turn * Math.PI) / 180)
  const columns = Math.ceil((widthMm * Math.abs(cos) + heightMm * Math.abs(sin)) / CELL_MM)
  const rows = Math.ceil((widthMm * Math.abs(sin) + heightMm * Math.abs(cos)) / CELL_MM)
  // Cells of the turned grid lie about the middle of the page.
  const place = (c: number, r: number) => {
    const s = (c + 0.5 - columns / 2) * CELL_MM
    const t = (r + 0.5 - rows / 2) * CELL_MM
    return { x: widthMm / 2 + s * cos - t * sin, y: heightMm / 2 + s * sin + t * cos }
  }
  const { blockPx } = overview
  const off = blockCentre(overview, 0)
  const mask = new Uint8Array(columns * rows)
  // Block of a cell: the same step from cell to cell along a row of the grid.
  const stepX = (CELL_MM * cos) / mmX / blockPx
  const stepY = (CELL_MM * sin) / mmY / blockPx
  for (let r = 0; r < rows; r++) {
    const first = place(0, r)
    const x = (first.x / mmX - off) / blockPx + 0.5
    const y = (first.y / mmY - off) / blockPx + 0.5
    markRow(mask, r * columns, columns, [x, stepX, y, stepY], overview, regions.labels, label)
  }
  const margin = Math.ceil(MARGIN_MM / CELL_MM)
  const least = Math.ceil(LEAST_SIDE_MM / CELL_MM) + 2 * margin
  const found: SolidArea[] = []
  let area = 0
  while (found.length < mostAreas && area < MOST_AREA_MM2) {
    const best = largestRectangle(mask, columns, rows, least)
    if (best === null) break
    for (let r = best.top; r < best.top + best.height; r++)
      mask.fill(0, r * columns + best.left, r * columns + best.left + best.width)
    const first = Math.min(LONGEST_SIDE_MM, (best.width - 2 * margin) * CELL_MM)
    const second = Math.min(LONGEST_SIDE_MM, (best.height - 2 * margin) * CELL_MM)
    const middle = place(best.left + (best.width - 1) / 2, best.top + (best.height - 1) / 2)
    // The place is told from the centre of the first pixel.
    found.push({
      id: `area-${found.length + 1}`,
      x: middle.x - mmX / 2,
      y: middle.y - mmY / 2,
      turn,
      first,
      second,
    })
    area += first * second
  }
  return found
}

/** Marks the cells of one row of the turned grid whose blocks bear the label; blocks from `x` and `y` on, a step from cell to cell. */
function markRow(
  mask: Uint8Array,
  from: number,
  cells: number,
  [x, stepX, y, stepY]: readonly [number, number, number, number],
  { columns, rows }: Pick<BlockOverview, 'columns' | 'rows'>,
  labels: Uint8Array,
  label: number,
): void {
  for (let c = 0; c < cells; c++) {
    const column = Math.floor(x + c * stepX)
    const row = Math.floor(y + c * stepY)
    if (!(column >= 0 && row >= 0 && column < columns && row < rows)) continue
    if (labels[row * columns + column] === label) mask[from + c] = 1
  }
}

interface CellRectangle {
  readonly left: number
  readonly top: number
  readonly width: number
  readonly height: number
}

/** How many marked cells end a column at this row. */
function growHeights(mask: Uint8Array, from: number, heights: Int32Array): void {
  for (let c = 0; c < heights.length; c++) heights[c] = mask[from + c] === 1 ? heights[c]! + 1 : 0
}

/** The largest rectangle of ones with both sides of `least` cells or more (histogram with a stack, row by row); null when there is none. */
function largestRectangle(mask: Uint8Array, columns: number, rows: number, least: number): CellRectangle | null {
  const heights = new Int32Array(columns)
  const stack = new Int32Array(columns + 1)
  let best: CellRectangle | null = null
  let most = 0
  for (let r = 0; r < rows; r++) {
    growHeights(mask, r * columns, heights)
    // Only runs high and wide enough all along can hold one, and only if their greatest height leaves room for a larger one.
    let start = 0
    let tallest = 0
    for (let c = 0; c <= columns; c++) {
      const height = c < columns ? heights[c]! : 0
      if (height >= least) {
        if (height > tallest) tallest = height
        continue
      }
      if (c - start >= least && (c - start) * tallest > most) look(start, c, r)
      start = c + 1
      tallest = 0
    }
  }
  return best

  function look(from: number, to: number, r: number): void {
    let depth = 0
    for (let c = from; c <= to; c++) {
      const height = c < to ? heights[c]! : 0
      while (depth > 0 && heights[stack[depth - 1]!]! >= height) {
        const tall = heights[stack[--depth]!]!
        const left = depth > 0 ? stack[depth - 1]! + 1 : from
        const width = c - left
        if (width >= least && width * tall > most) {
          most = width * tall
          best = { left, top: r - tall + 1, width, height: tall }
        }
      }
      stack[depth++] = c
    }
  }
}

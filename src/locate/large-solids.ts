import type { BlockOverview } from '../imaging/block-overview.js'
import { blockCentre } from '../imaging/block-overview.js'
import { type CellRectangle, turnedRectangles } from '../imaging/turned-rectangles.js'
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
  // Block of a cell: the same step from cell to cell along a row of the grid.
  const grid = {
    labels: regions.labels,
    columns: overview.columns,
    rows: overview.rows,
    wide: columns,
    high: rows,
    rowStart: (r: number) => {
      const first = place(0, r)
      return { x: (first.x / mmX - off) / blockPx + 0.5, y: (first.y / mmY - off) / blockPx + 0.5 }
    },
    stepX: (CELL_MM * cos) / mmX / blockPx,
    stepY: (CELL_MM * sin) / mmY / blockPx,
  }
  const margin = Math.ceil(MARGIN_MM / CELL_MM)
  const least = Math.ceil(LEAST_SIDE_MM / CELL_MM) + 2 * margin
  const found: SolidArea[] = []
  let area = 0
  turnedRectangles(grid, label, least, (best: CellRectangle) => {
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
    return !(found.length < mostAreas && area < MOST_AREA_MM2)
  })
  return found
}

import { type BlockOverview, blockCentre } from '../imaging/block-overview.js'
import { closedMarks } from '../imaging/closed-marks.js'
import { type ConnectedGroup, type ConnectedRuns, connectedRuns } from '../imaging/label-components.js'

/** A dark bar on clear film, mm on the scan (column and row times the pixel's length). */
export interface Bar {
  readonly x: number
  readonly y: number
  /** Unit vector along the bar, either way. */
  readonly dx: number
  readonly dy: number
}

/** Size of the bars that are looked for, mm. */
export interface BarSize {
  readonly length: number
  readonly width: number
}

/** Blocks that pass less than this share of clear film's light belong to a bar: a scratch of half a block does not cut it. */
const DARK_BELOW = 0.7
/** Sizes told from blocks are good to this, mm and share. */
const LENGTH_WITHIN = 0.6
const WIDTH_WITHIN = 0.3
const AREA_WITHIN = 0.3

/**
 * Bars of one size on the overview, at any turn: connected dark blocks whose first and second moments, each block weighted by its share of
 * dark, are those of such a rectangle (length^2 / 12, width^2 / 12). Places are good to some 0.02 mm, directions to 0.2 degrees.
 * @param clear light of clear film, above 0
 */
export function findBars(
  overview: BlockOverview,
  umPerPixel: { readonly across: number; readonly along: number },
  clear: number,
  size: BarSize,
): Bar[] {
  const { columns, rows, blockPx } = overview
  const pitchX = (blockPx * umPerPixel.across) / 1000
  const pitchY = (blockPx * umPerPixel.along) / 1000
  // Wider scratches than are closed are rare, and what stands beside a bar is twice as far.
  const marks = closedMarks(overview, DARK_BELOW * clear)
  const { runs, groups } = connectedRuns(marks, columns, rows)
  const longest = Math.hypot(size.length, size.width) + LENGTH_WITHIN
  const area = (size.length * size.width) / (pitchX * pitchY)
  const found: Bar[] = []
  for (const group of groups) {
    const wide = (group.right - group.left + 1) * pitchX
    const high = (group.bottom - group.top + 1) * pitchY
    if (wide > longest || high > longest || Math.hypot(wide, high) < size.length - LENGTH_WITHIN) continue
    if (
      !(group.cells > (1 - AREA_WITHIN) * area && group.cells < (1 + AREA_WITHIN) * area + 1.5 * (size.length / pitchX))
    )
      continue
    const bar = barOf(overview, marks, ownCells(runs, group), group, clear, { pitchX, pitchY }, size)
    if (bar !== null)
      found.push({
        ...bar,
        x: (blockCentre(overview, bar.x) * umPerPixel.across) / 1000,
        y: (blockCentre(overview, bar.y) * umPerPixel.along) / 1000,
      })
  }
  return found
}

/** Looks up whether a block is one of a group's. */
type OwnCells = (column: number, row: number) => boolean

function ownCells(runs: ConnectedRuns['runs'], { label, left, top, right, bottom }: ConnectedGroup): OwnCells {
  const wide = right - left + 1
  const own = new Uint8Array(wide * (bottom - top + 1))
  for (let at = 4 * firstRun(runs, top); at < runs.length && runs[at]! <= bottom; at += 4) {
    if (runs[at + 3] !== label) continue
    const from = (runs[at]! - top) * wide - left
    own.fill(1, from + runs[at + 1]!, from + runs[at + 2]! + 1)
  }
  return (column, row) =>
    column >= left && column <= right && row >= top && row <= bottom && own[(row - top) * wide + column - left] === 1
}

/** Number of the first run at or below a row. */
function firstRun(runs: ConnectedRuns['runs'], row: number): number {
  let low = 0
  let high = runs.length / 4
  while (low < high) {
    const middle = (low + high) >> 1
    if (runs[4 * middle]! < row) low = middle + 1
    else high = middle
  }
  return low
}

function barOf(
  { columns, rows, light }: BlockOverview,
  marks: Uint8Array,
  own: OwnCells,
  group: ConnectedGroup,
  clear: number,
  { pitchX, pitchY }: { pitchX: number; pitchY: number },
  size: BarSize,
): Bar | null {
  let sum = 0
  let sx = 0
  let sy = 0
  let sxx = 0
  let sxy = 0
  let syy = 0
  // Blocks beside the group hold the rest of its rim.
  const touches = (column: number, row: number): boolean => {
    for (let dr = -1; dr <= 1; dr++) for (let dc = -1; dc <= 1; dc++) if (own(column + dc, row + dr)) return true
    return false
  }
  for (let r = Math.max(1, group.top - 1); r <= Math.min(rows - 2, group.bottom + 1); r++)
    for (let c = Math.max(1, group.left - 1); c <= Math.min(columns - 2, group.right + 1); c++) {
      const at = r * columns + c
      if (!own(c, r) && (marks[at] !== 0 || !touches(c, r))) continue
      const dark = Math.min(1, Math.max(0, 1 - light[at]! / clear))
      const x = (c - group.left) * pitchX
      const y = (r - group.top) * pitchY
      sum += dark
      sx += dark * x
      sy += dark * y
      sxx += dark * x * x
      sxy += dark * x * y
      syy += dark * y * y
    }
  if (!(sum > 0)) return null
  const mx = sx / sum
  const my = sy / sum
  const xx = sxx / sum - mx * mx
  const xy = sxy / sum - mx * my
  const yy = syy / sum - my * my
  const half = Math.hypot((xx - yy) / 2, xy)
  const length = Math.sqrt(12 * ((xx + yy) / 2 + half))
  const width = Math.sqrt(12 * Math.max(0, (xx + yy) / 2 - half))
  if (!(Math.abs(length - size.length) < LENGTH_WITHIN && Math.abs(width - size.width) < WIDTH_WITHIN)) return null
  const angle = Math.atan2(2 * xy, xx - yy) / 2
  return { x: group.left + mx / pitchX, y: group.top + my / pitchY, dx: Math.cos(angle), dy: Math.sin(angle) }
}

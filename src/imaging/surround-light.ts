import type { BlockOverview } from './block-overview.js'

/** One way in which light may spread far over a page. */
export interface BroadSpread {
  /** Falling off as a Gaussian, straight down along each axis, or even over a square and nothing beyond. */
  readonly shape: 'gaussian' | 'tent' | 'square'
  /** Standard deviation along each axis; `null`: all of the page alike. */
  readonly sigmaUm: number | null
  /** What lies beyond the rim of the scan: its outermost light goes on, or nothing. */
  readonly outside: 'rim' | 'dark'
}

/** Mean light round any place of a scan, one value for each spread. */
export interface SurroundLight {
  /** Light of the surroundings at a place in scan pixels, by linear steps between cells. */
  at(column: number, row: number): number[]
}

/** Cells to one sigma: a cell's own width then adds 1 % to the spread's variance. */
const CELLS_PER_SIGMA = 4
/** The spread is cut off here, in sigmas. */
const KERNEL_SIGMAS = 3

/** Mean light of the cells of a grid laid over the blocks. */
interface Cells {
  readonly columns: number
  readonly rows: number
  readonly mean: Float64Array
}

/** Light of one spread over the page. */
interface Field {
  readonly columns: number
  readonly rows: number
  readonly cellWidth: number
  readonly cellHeight: number
  /** Light of one cell, worked out when it is first asked for: of half a million cells a film's readings ask for hundreds. */
  light(column: number, row: number): number
}

/**
 * Light round each place: the overview's light averaged with each spread. This is the light that a scanner's veiling glare carries into
 * dark places (ISO 9358 manner: a broad spread of small weight).
 * @throws RangeError on a spread without width
 */
export function surroundLight(
  overview: BlockOverview,
  umPerPixel: { readonly across: number; readonly along: number },
  spreads: readonly BroadSpread[],
): SurroundLight {
  const fields = fieldsOf(overview, umPerPixel, spreads)
  return { at: (column, row) => fields.map(field => interpolated(field, column, row)) }
}

/** Apart from what is handed out, so that the sums, as large as the overview, are let go once the cells are made. */
function fieldsOf(
  overview: BlockOverview,
  umPerPixel: { readonly across: number; readonly along: number },
  spreads: readonly BroadSpread[],
): Field[] {
  const sums = summedLight(overview)
  const grids = new Map<string, Cells>()
  const cellsOf = (perColumn: number, perRow: number): Cells => {
    const key = `${perColumn},${perRow}`
    const cells = grids.get(key) ?? meanCells(overview, sums, perColumn, perRow)
    grids.set(key, cells)
    return cells
  }
  return spreads.map(spread => fieldOf(overview, cellsOf, umPerPixel, spread))
}

/** Sum of the light of all blocks above and left of each corner: `(rows + 1) x (columns + 1)`, so that the mean of any cell is four look-ups. */
function summedLight({ columns, rows, light }: BlockOverview): Float64Array {
  const wide = columns + 1
  const sums = new Float64Array(wide * (rows + 1))
  for (let r = 0; r < rows; r++) {
    let line = 0
    for (let c = 0; c < columns; c++) {
      line += light[r * columns + c]!
      sums[(r + 1) * wide + c + 1] = sums[r * wide + c + 1]! + line
    }
  }
  return sums
}

function meanCells(overview: BlockOverview, sums: Float64Array, perColumn: number, perRow: number): Cells {
  const wide = overview.columns + 1
  const columns = Math.ceil(overview.columns / perColumn)
  const rows = Math.ceil(overview.rows / perRow)
  const mean = new Float64Array(columns * rows)
  for (let r = 0; r < rows; r++) {
    const r0 = r * perRow
    const r1 = Math.min(overview.rows, r0 + perRow)
    for (let c = 0; c < columns; c++) {
      const c0 = c * perColumn
      const c1 = Math.min(overview.columns, c0 + perColumn)
      mean[r * columns + c] =
        (sums[r1 * wide + c1]! - sums[r0 * wide + c1]! - sums[r1 * wide + c0]! + sums[r0 * wide + c0]!) /
        ((c1 - c0) * (r1 - r0))
    }
  }
  return { columns, rows, mean }
}

function fieldOf(
  overview: BlockOverview,
  cellsOf: (perColumn: number, perRow: number) => Cells,
  um: { readonly across: number; readonly along: number },
  { shape, sigmaUm, outside }: BroadSpread,
): Field {
  if (sigmaUm === null) {
    const { mean } = cellsOf(overview.columns, overview.rows)
    return {
      columns: 1,
      rows: 1,
      cellWidth: overview.scanWidth,
      cellHeight: overview.scanHeight,
      light: () => mean[0]!,
    }
  }
  if (!(sigmaUm > 0)) throw new RangeError(`sigmaUm must be above 0; got ${sigmaUm}`)
  const perColumn = Math.max(1, Math.round(sigmaUm / CELLS_PER_SIGMA / (overview.blockPx * um.across)))
  const perRow = Math.max(1, Math.round(sigmaUm / CELLS_PER_SIGMA / (overview.blockPx * um.along)))
  const { columns, rows, mean } = cellsOf(perColumn, perRow)
  const cellWidth = perColumn * overview.blockPx
  const cellHeight = perRow * overview.blockPx
  const weights = { gaussian: gaussianWeights, tent: tentWeights, square: squareWeights }[shape]
  const onRim = outside === 'rim'
  const acrossRow = weights(sigmaUm / (cellWidth * um.across))
  const downColumn = weights(sigmaUm / (cellHeight * um.along))
  // Cells spread along their row, and then down their column: each worked out when it is first needed, and kept.
  const wide = new Float64Array(columns * rows)
  const spread = new Float64Array(columns * rows)
  const known = { wide: new Uint8Array(columns * rows), spread: new Uint8Array(columns * rows) }
  const light = (column: number, row: number): number => {
    const at = row * columns + column
    if (known.spread[at] === 0) {
      const half = (downColumn.length - 1) / 2
      const last = Math.min(rows - 1, row + half)
      for (let r = Math.max(0, row - half); r <= last; r++) {
        const there = r * columns + column
        if (known.wide[there] === 1) continue
        wide[there] = spreadOnce(mean, r * columns, 1, columns, column, acrossRow, onRim)
        known.wide[there] = 1
      }
      known.spread[at] = 1
      spread[at] = spreadOnce(wide, column, columns, rows, row, downColumn, onRim)
    }
    return spread[at]!
  }
  return { columns, rows, cellWidth, cellHeight, light }
}

/**
 * The weights laid along one line of cells at one place of it.
 * @param from first cell of the line; `step` from one to the next, `length` of them
 */
function spreadOnce(
  cells: Float64Array,
  from: number,
  step: number,
  length: number,
  place: number,
  weights: Float64Array,
  onRim: boolean,
): number {
  const half = (weights.length - 1) / 2
  let sum = 0
  for (let k = 0; k < weights.length; k++) {
    const at = place + k - half
    if (at >= 0 && at < length) sum += weights[k]! * cells[from + at * step]!
    else if (onRim) sum += weights[k]! * cells[from + (at < 0 ? 0 : length - 1) * step]!
  }
  return sum
}

function interpolated({ columns, rows, cellWidth, cellHeight, light }: Field, column: number, row: number): number {
  const x = Math.min(columns - 1, Math.max(0, (column + 0.5) / cellWidth - 0.5))
  const y = Math.min(rows - 1, Math.max(0, (row + 0.5) / cellHeight - 0.5))
  const c = Math.max(0, Math.min(columns - 2, Math.floor(x)))
  const r = Math.max(0, Math.min(rows - 2, Math.floor(y)))
  const read = (dc: number, dr: number) => light(Math.min(columns - 1, c + dc), Math.min(rows - 1, r + dr))
  const fx = x - c
  const fy = y - r
  return (read(0, 0) * (1 - fx) + read(1, 0) * fx) * (1 - fy) + (read(0, 1) * (1 - fx) + read(1, 1) * fx) * fy
}

/** Weights of a Gaussian of `sigma` cells, sum 1. */
function gaussianWeights(sigma: number): Float64Array {
  const half = Math.max(1, Math.ceil(KERNEL_SIGMAS * sigma))
  return toOne(Float64Array.from({ length: 2 * half + 1 }, (_, i) => Math.exp(-0.5 * ((i - half) / sigma) ** 2)))
}

/** Weights of an even spread whose standard deviation is `sigma` cells, sum 1: its ends take part of a cell. */
function squareWeights(sigma: number): Float64Array {
  const reach = (Math.sqrt(12) * sigma) / 2
  const half = Math.max(1, Math.ceil(reach - 0.5))
  return toOne(
    Float64Array.from({ length: 2 * half + 1 }, (_, i) => Math.min(1, Math.max(0, reach + 0.5 - Math.abs(i - half)))),
  )
}

/** Weights of a tent whose standard deviation is `sigma` cells, sum 1. */
function tentWeights(sigma: number): Float64Array {
  const reach = Math.sqrt(6) * sigma
  const half = Math.max(1, Math.floor(reach))
  return toOne(Float64Array.from({ length: 2 * half + 1 }, (_, i) => Math.max(0, 1 - Math.abs(i - half) / reach)))
}

function toOne(weights: Float64Array): Float64Array {
  const total = weights.reduce((sum, w) => sum + w, 0)
  return weights.map(w => w / total)
}

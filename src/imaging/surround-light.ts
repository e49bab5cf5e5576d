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

/** Light of one spread over the page. */
interface Field {
  readonly columns: number
  readonly rows: number
  readonly cellWidth: number
  readonly cellHeight: number
  readonly light: Float64Array
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
  const sums = summedLight(overview)
  const fields = spreads.map(spread => fieldOf(overview, sums, umPerPixel, spread))
  return { at: (column, row) => fields.map(field => interpolated(field, column, row)) }
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

function fieldOf(
  overview: BlockOverview,
  sums: Float64Array,
  um: { readonly across: number; readonly along: number },
  { shape, sigmaUm, outside }: BroadSpread,
): Field {
  const wideSums = overview.columns + 1
  const meanOf = (c0: number, c1: number, r0: number, r1: number) =>
    (sums[r1 * wideSums + c1]! - sums[r0 * wideSums + c1]! - sums[r1 * wideSums + c0]! + sums[r0 * wideSums + c0]!) /
    ((c1 - c0) * (r1 - r0))
  if (sigmaUm === null) {
    const light = Float64Array.of(meanOf(0, overview.columns, 0, overview.rows))
    return { columns: 1, rows: 1, cellWidth: overview.scanWidth, cellHeight: overview.scanHeight, light }
  }
  if (!(sigmaUm > 0)) throw new RangeError(`sigmaUm must be above 0; got ${sigmaUm}`)
  const perColumn = Math.max(1, Math.round(sigmaUm / CELLS_PER_SIGMA / (overview.blockPx * um.across)))
  const perRow = Math.max(1, Math.round(sigmaUm / CELLS_PER_SIGMA / (overview.blockPx * um.along)))
  const columns = Math.ceil(overview.columns / perColumn)
  const rows = Math.ceil(overview.rows / perRow)
  const cells = new Float64Array(columns * rows)
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++)
      cells[r * columns + c] = meanOf(
        c * perColumn,
        Math.min(overview.columns, (c + 1) * perColumn),
        r * perRow,
        Math.min(overview.rows, (r + 1) * perRow),
      )
  const cellWidth = perColumn * overview.blockPx
  const cellHeight = perRow * overview.blockPx
  const weights = { gaussian: gaussianWeights, tent: tentWeights, square: squareWeights }[shape]
  const wide = spreadAlong(cells, columns, rows, 1, columns, weights(sigmaUm / (cellWidth * um.across)), outside)
  const light = spreadAlong(wide, rows, columns, columns, 1, weights(sigmaUm / (cellHeight * um.along)), outside)
  return { columns, rows, cellWidth, cellHeight, light }
}

function interpolated({ columns, rows, cellWidth, cellHeight, light }: Field, column: number, row: number): number {
  const x = Math.min(columns - 1, Math.max(0, (column + 0.5) / cellWidth - 0.5))
  const y = Math.min(rows - 1, Math.max(0, (row + 0.5) / cellHeight - 0.5))
  const c = Math.max(0, Math.min(columns - 2, Math.floor(x)))
  const r = Math.max(0, Math.min(rows - 2, Math.floor(y)))
  const read = (dc: number, dr: number) => light[Math.min(rows - 1, r + dr) * columns + Math.min(columns - 1, c + dc)]!
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

/** The weights laid along one direction. */
function spreadAlong(
  from: Float64Array,
  length: number,
  lines: number,
  stride: number,
  jump: number,
  weights: Float64Array,
  outside: 'rim' | 'dark',
): Float64Array {
  const half = (weights.length - 1) / 2
  const padded = new Float64Array(length + 2 * half)
  const to = new Float64Array(from.length)
  for (let line = 0; line < lines; line++) {
    const start = line * jump
    for (let i = 0; i < padded.length; i++) {
      const at = i - half
      const inside = at >= 0 && at < length
      padded[i] = inside || outside === 'rim' ? from[start + Math.min(length - 1, Math.max(0, at)) * stride]! : 0
    }
    for (let i = 0; i < length; i++) {
      let sum = 0
      for (let k = 0; k <= 2 * half; k++) sum += weights[k]! * padded[i + k]!
      to[start + i * stride] = sum
    }
  }
  return to
}

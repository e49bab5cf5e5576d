import { memoryPlan } from '../kernels/compiled-loops.js'
import { ownLightLoops } from '../kernels/light-loops.js'
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
  at(column: number, row: number): readonly number[]
}

/** Cells to one sigma: a cell's own width then adds 1 % to the spread's variance. */
const CELLS_PER_SIGMA = 4
/** The spread is cut off here, in sigmas. */
const KERNEL_SIGMAS = 3

/** Cells laid over the blocks; several spreads share one grid of them. */
interface Cells {
  readonly perColumn: number
  readonly perRow: number
  readonly columns: number
  readonly rows: number
}

/** One spread laid out over its cells. */
interface Field {
  readonly spread: BroadSpread
  readonly cells: Cells
  /** Of a cell, pixels. */
  readonly width: number
  readonly height: number
  readonly acrossRow: Float64Array
  readonly downColumn: Float64Array
  readonly onRim: boolean
}

/** As in the compiled loops. */
const FIELD_BYTES = 64
/**
 * From so many places on, cells that were spread are kept for the next: until then places lie far apart, and fresh memory costs more than spreading anew.
 * A film asks for some hundreds, a calibration for every block of what is opaque.
 */
const KEPT_FROM = 1000

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
  const grids = new Map<string, Cells>()
  const cellsOf = (perColumn: number, perRow: number): Cells => {
    const key = `${perColumn},${perRow}`
    const cells = grids.get(key) ?? {
      perColumn,
      perRow,
      columns: Math.ceil(overview.columns / perColumn),
      rows: Math.ceil(overview.rows / perRow),
    }
    grids.set(key, cells)
    return cells
  }
  const fields = spreads.map(spread => fieldOf(overview, cellsOf, umPerPixel, spread))
  return spreadLight(overview, [...grids.values()], fields)
}

/** Everything lies in one memory of its own, as long as anybody asks: cells by the hundred thousand, of which a film's readings ask for hundreds. */
function spreadLight(overview: BlockOverview, grids: readonly Cells[], fields: readonly Field[]): SurroundLight {
  const { columns, rows } = overview
  const plan = memoryPlan()
  const sumsAt = plan.take(8 * (columns + 1))
  const rowAt = plan.take(4 * columns)
  const laid = grids.map(cells => ({
    ...cells,
    aboveAt: plan.take(8 * (columns + 1)),
    meanAt: plan.take(8 * cells.columns * cells.rows),
  }))
  const fieldsAt = plan.take(FIELD_BYTES * fields.length)
  const intoAt = plan.take(8 * fields.length)
  const span = 2 + fields.reduce((most, { downColumn }) => Math.max(most, downColumn.length), 0)
  const scratchAt = plan.take(8 * (2 * span + 4))
  const places = fields.map(({ cells, acrossRow, downColumn }) => ({
    acrossAt: plan.take(8 * acrossRow.length),
    downAt: plan.take(8 * downColumn.length),
    // Cells spread along their row, and then down their column: no memory until something is kept there.
    wideAt: plan.take(8 * cells.columns * cells.rows),
    spreadAt: plan.take(8 * cells.columns * cells.rows),
  }))
  const loops = ownLightLoops(plan.end())
  const { memory } = loops

  const line = new Float32Array(memory, rowAt, columns)
  for (let r = 0; r < rows; r++) {
    line.set(overview.light.subarray(r * columns, (r + 1) * columns))
    loops.addSummed(rowAt, columns, sumsAt)
    for (const { perColumn, perRow, columns: wide, aboveAt, meanAt } of laid) {
      if ((r + 1) % perRow !== 0 && r + 1 !== rows) continue
      const row = Math.floor(r / perRow)
      loops.meanCells(sumsAt, aboveAt, columns, perColumn, wide, r + 1 - row * perRow, meanAt + 8 * wide * row)
    }
  }

  fields.forEach(({ spread, cells, width, height, acrossRow, downColumn, onRim }, k) => {
    const { acrossAt, downAt, wideAt, spreadAt } = places[k]!
    const at = fieldsAt + k * FIELD_BYTES
    new Float64Array(memory, at, 2).set([width, height])
    const { meanAt } = laid[grids.indexOf(cells)]!
    const counts = [cells.columns, cells.rows, meanAt, acrossAt, acrossRow.length, downAt, downColumn.length]
    // Well inside the page it makes no difference what lies beyond its rim.
    const twin = fields.findIndex(other => other.cells === cells && sameSpread(other.spread, spread))
    new Int32Array(memory, at + 16, 11).set([...counts, onRim ? 1 : 0, wideAt, spreadAt, twin < k ? twin : -1])
    new Float64Array(memory, acrossAt, acrossRow.length).set(acrossRow)
    new Float64Array(memory, downAt, downColumn.length).set(downColumn)
  })
  const into = new Float64Array(memory, intoAt, fields.length)
  const known = new Map<string, readonly number[]>()
  return {
    at(column, row) {
      const place = `${column},${row}`
      const before = known.get(place)
      if (before !== undefined) return before
      const keep = known.size < KEPT_FROM ? 0 : 1
      loops.surroundAt(fieldsAt, fields.length, column, row, keep, scratchAt, span, intoAt)
      const light = Array.from(into)
      if (keep === 0) known.set(place, light)
      return light
    },
  }
}

function sameSpread(a: BroadSpread, b: BroadSpread): boolean {
  return a.shape === b.shape && a.sigmaUm === b.sigmaUm
}

function fieldOf(
  overview: BlockOverview,
  cellsOf: (perColumn: number, perRow: number) => Cells,
  um: { readonly across: number; readonly along: number },
  spread: BroadSpread,
): Field {
  const { shape, sigmaUm, outside } = spread
  if (sigmaUm === null) {
    const cells = cellsOf(overview.columns, overview.rows)
    const alone = Float64Array.of(1)
    const { scanWidth: width, scanHeight: height } = overview
    return { spread, cells, width, height, acrossRow: alone, downColumn: alone, onRim: true }
  }
  if (!(sigmaUm > 0)) throw new RangeError(`sigmaUm must be above 0; got ${sigmaUm}`)
  const perColumn = Math.max(1, Math.round(sigmaUm / CELLS_PER_SIGMA / (overview.blockPx * um.across)))
  const perRow = Math.max(1, Math.round(sigmaUm / CELLS_PER_SIGMA / (overview.blockPx * um.along)))
  const width = perColumn * overview.blockPx
  const height = perRow * overview.blockPx
  const weights = { gaussian: gaussianWeights, tent: tentWeights, square: squareWeights }[shape]
  return {
    spread,
    cells: cellsOf(perColumn, perRow),
    width,
    height,
    acrossRow: weights(sigmaUm / (width * um.across)),
    downColumn: weights(sigmaUm / (height * um.along)),
    onRim: outside === 'rim',
  }
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

import { memoryPlan } from '../kernels/compiled-loops.js'
import { placeLoops } from '../kernels/place-loops.js'
import type { ConnectedRuns } from './label-components.js'

/** Windows of marked cells (`fullWindows`), each of which lies in one connected group of them. */
export interface AreaWindows {
  readonly columns: number
  readonly rows: number
  readonly fits: Uint8Array
  readonly areas: ConnectedRuns
}

/** Of a window's cells those whose light counts. */
export interface InnerCells {
  /** Columns and rows from its first cell to the first of them. */
  readonly across: number
  readonly along: number
  readonly wide: number
  readonly high: number
}

/** By the number of the group, from 1. */
export interface AreaSummary {
  /** How many windows begin in it. */
  readonly count: Int32Array
  /** Indices of their first cells: of the first one in reading order, and of the lightest. */
  readonly first: Int32Array
  readonly lightest: Int32Array
}

/** Rows are handed to the compiled loops so many at a time. */
const PIECE_ROWS = 32
const RUN_BYTES = 16

/** The windows of each area: how many, the first, and the lightest by the mean light of its inner cells. */
export function summedWindows(windows: AreaWindows, light: Float32Array, inner: InnerCells): AreaSummary {
  const { columns, areas } = windows
  const { across, along, wide, high } = inner
  const groups = areas.groups.length + 1
  const plan = memoryPlan()
  const lightsAt = plan.take(8 * groups)
  const countsAt = plan.take(4 * groups)
  const firstsAt = plan.take(4 * groups)
  const lightestsAt = plan.take(4 * groups)
  const lightRows = PIECE_ROWS + along + high
  const lightAt = plan.take(4 * columns * lightRows)
  const pieces = windowPieces(windows, plan)
  const { loops } = pieces
  const of = (at: number) => new Int32Array(loops.memory, at, groups)
  new Float64Array(loops.memory, lightsAt, groups).fill(Number.NEGATIVE_INFINITY)
  for (const at of [countsAt, firstsAt, lightestsAt]) of(at).fill(0)
  const inset = along * columns + across
  pieces.forEach((row, runsAt, runs, fitsAt) => {
    const seen = light.subarray(row * columns, (row + lightRows) * columns)
    new Float32Array(loops.memory, lightAt, seen.length).set(seen)
    const into = [countsAt, firstsAt, lightestsAt, lightsAt] as const
    loops.lightestWindows(runsAt, runs, row, fitsAt, lightAt, columns, inset, wide, high, ...into)
  })
  return { count: of(countsAt).slice(), first: of(firstsAt).slice(), lightest: of(lightestsAt).slice() }
}

/**
 * Windows of some areas, every so many of each: indices of their first cells in reading order, one list for each area asked for.
 * @param counts as `summedWindows` has them
 */
export function everyWindow(
  windows: AreaWindows,
  asked: readonly { readonly area: number; readonly step: number }[],
  counts: Int32Array,
): Int32Array[] {
  const { columns, areas } = windows
  const groups = areas.groups.length + 1
  const lengths = asked.map(({ area, step }) => Math.ceil(counts[area]! / step))
  const starts = lengths.map((_, k) => lengths.slice(0, k).reduce((sum, length) => sum + length, 0))
  const total = lengths.reduce((sum, length) => sum + length, 0)
  const plan = memoryPlan()
  const ranksAt = plan.take(4 * groups)
  const stepsAt = plan.take(4 * asked.length)
  const metAt = plan.take(4 * asked.length)
  const endsAt = plan.take(4 * asked.length)
  const intoAt = plan.take(4 * total)
  const pieces = windowPieces(windows, plan)
  const { loops } = pieces
  const list = (at: number) => new Int32Array(loops.memory, at, asked.length)
  const ranks = new Int32Array(loops.memory, ranksAt, groups).fill(-1)
  asked.forEach(({ area }, k) => {
    ranks[area] = k
  })
  list(stepsAt).set(asked.map(({ step }) => step))
  list(metAt).fill(0)
  list(endsAt).set(starts)
  pieces.forEach((row, runsAt, runs, fitsAt) => {
    loops.everyWindow(runsAt, runs, row, fitsAt, columns, ranksAt, stepsAt, metAt, endsAt, intoAt)
  })
  const found = new Int32Array(loops.memory, intoAt, total)
  return lengths.map((length, k) => found.slice(starts[k]!, starts[k]! + length))
}

/** Runs and windows, handed to a loop piece by piece. */
function windowPieces({ columns, rows, fits, areas }: AreaWindows, plan: ReturnType<typeof memoryPlan>) {
  const { runs } = areas
  const fitsAt = plan.take(columns * PIECE_ROWS)
  const runsAt = plan.take(RUN_BYTES * ((columns >> 1) + 1) * PIECE_ROWS)
  const loops = placeLoops(plan.end())
  return {
    loops,
    forEach(piece: (row: number, runsAt: number, runs: number, fitsAt: number) => void): void {
      for (let row = 0, at = 0; row < rows; row += PIECE_ROWS) {
        const from = at
        while (at < runs.length && runs[at]! < row + PIECE_ROWS) at += 4
        if (at === from) continue
        new Int32Array(loops.memory, runsAt, at - from).set(runs.subarray(from, at))
        const marks = fits.subarray(row * columns, (row + PIECE_ROWS) * columns)
        new Uint8Array(loops.memory, fitsAt, marks.length).set(marks)
        piece(row, runsAt, (at - from) / 4, fitsAt)
      }
    },
  }
}

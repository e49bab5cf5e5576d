import { memoryPlan } from '../kernels/compiled-loops.js'
import { placeLoops } from '../kernels/place-loops.js'

/** Windows on a grid of labels. */
export interface FreeWindowsPlan {
  readonly columns: number
  readonly rows: number
  readonly width: number
  readonly height: number
  /** None of these two labels may come this near, cells by sides and corners. */
  readonly apart: number
  readonly from: readonly [number, number]
}

/**
 * Of every other window on every other row, those that have two labels nowhere within them and round them: indices of their first cells in
 * reading order.
 * @param fits 1 at the first cell of every window that is asked after (`fullWindows`)
 * @param stepOf of how many windows one in so many is taken
 */
export function freeWindows(
  labels: Uint8Array,
  fits: Uint8Array,
  { columns, rows, width, height, apart, from }: FreeWindowsPlan,
  stepOf: (windows: number) => number,
): number[] {
  const plan = memoryPlan()
  const lastAt = plan.take(4 * columns)
  const rowAt = plan.take(columns)
  const fitsAt = plan.take(columns)
  const runsAt = plan.take(4 * (columns + 2))
  const loops = placeLoops(plan.end())
  new Int32Array(loops.memory, lastAt, columns).fill(-1)
  const rowOf = new Uint8Array(loops.memory, rowAt, columns)
  const fitsOf = new Uint8Array(loops.memory, fitsAt, columns)
  // Runs of free windows: the first one's index, and how many.
  const found: number[] = []
  let total = 0
  let seen = 0
  for (let row = 0; row + height <= rows; row += 2) {
    for (const bottom = Math.min(rows, row + height + apart); seen < bottom; seen++) {
      rowOf.set(labels.subarray(seen * columns, (seen + 1) * columns))
      loops.lastRows(rowAt, columns, seen, from[0], from[1], lastAt)
    }
    fitsOf.set(fits.subarray(row * columns, (row + 1) * columns))
    const count = loops.freeWindows(fitsAt, columns, width, apart, Math.max(0, row - apart), lastAt, runsAt)
    const runs = new Int32Array(loops.memory, runsAt, 2 * count)
    for (let k = 0; k < runs.length; k += 2) {
      found.push(row * columns + runs[k]!, runs[k + 1]!)
      total += runs[k + 1]!
    }
  }
  const step = stepOf(total)
  const windows: number[] = []
  for (let k = 0, met = 0; k < found.length; k += 2) {
    const length = found[k + 1]!
    for (let next = met % step === 0 ? 0 : step - (met % step); next < length; next += step)
      windows.push(found[k]! + 2 * next)
    met += length
  }
  return windows
}

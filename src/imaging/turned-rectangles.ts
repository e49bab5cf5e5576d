import { memoryPlan } from '../kernels/compiled-loops.js'
import { placeLoops } from '../kernels/place-loops.js'

/** A grid of labels, and a grid of cells laid over it at a turn. */
export interface TurnedGrid {
  readonly labels: Uint8Array
  readonly columns: number
  readonly rows: number
  /** Cells of the turned grid. */
  readonly wide: number
  readonly high: number
  /** Column and row of the labels at which each row of cells begins, and the steps from cell to cell along it. */
  rowStart(row: number): { readonly x: number; readonly y: number }
  readonly stepX: number
  readonly stepY: number
}

/** Cells of a turned grid. */
export interface CellRectangle {
  readonly left: number
  readonly top: number
  readonly width: number
  readonly height: number
}

/**
 * Rectangles of cells that bear one label, each the largest of what those before it left, until `enough` says so after one of them.
 * @param least cells that both sides have at least
 */
export function turnedRectangles(
  { labels, columns, rows, wide, high, rowStart, stepX, stepY }: TurnedGrid,
  label: number,
  least: number,
  enough: (rectangle: CellRectangle) => boolean,
): void {
  const plan = memoryPlan()
  const labelsAt = plan.take(columns * rows)
  const maskAt = plan.take(wide * high)
  const heightsAt = plan.take(4 * wide)
  const stackAt = plan.take(4 * (wide + 1))
  const bestAt = plan.take(16)
  const loops = placeLoops(plan.end())
  new Uint8Array(loops.memory, labelsAt, labels.length).set(labels)
  for (let r = 0; r < high; r++) {
    const { x, y } = rowStart(r)
    loops.markTurned(labelsAt, columns, rows, label, x, stepX, y, stepY, wide, maskAt + r * wide)
  }
  while (loops.largestRectangle(maskAt, wide, high, least, heightsAt, stackAt, bestAt) > 0) {
    const best = new Int32Array(loops.memory, bestAt, 4)
    const { left, top, width, height } = { left: best[0]!, top: best[1]!, width: best[2]!, height: best[3]! }
    const mask = new Uint8Array(loops.memory, maskAt, wide * high)
    for (let r = top; r < top + height; r++) mask.fill(0, r * wide + left, r * wide + left + width)
    if (enough({ left, top, width, height })) return
  }
}

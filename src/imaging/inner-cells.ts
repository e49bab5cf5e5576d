import { memoryPlan } from '../kernels/compiled-loops.js'
import { lightLoops } from '../kernels/light-loops.js'

/** Cells of a grid of labels below 16. */
export interface LabelledCells {
  readonly columns: number
  readonly rows: number
  readonly labels: Uint8Array
  /** Labels of the cells that are asked after. */
  readonly taking: readonly number[]
  /** How far off, cells by sides and corners, the neighbours must bear a cell's own label. */
  readonly reach: number
}

/** Rows are handed to the compiled loop so many at a time. */
const PIECE_ROWS = 32
const LABELS = 16

/**
 * Cells whose eight neighbours `reach` off bear their own label: how many there are, and one in so many of them in reading order.
 * @param stepOf of how many one in so many is wanted; 0: none
 */
export function innerCells(
  { columns, rows, labels, taking, reach }: LabelledCells,
  stepOf: (count: number) => number,
): { count: number; cells: Int32Array } {
  if (taking.some(label => !(label >= 0 && label < LABELS)))
    throw new RangeError(`labels must be below ${LABELS}; got ${taking}`)
  const plan = memoryPlan()
  const takingAt = plan.take(LABELS)
  const stateAt = plan.take(12)
  const intoAt = plan.take(4 * columns * PIECE_ROWS)
  const labelsAt = plan.take(columns * (PIECE_ROWS + 2 * reach))
  const loops = lightLoops(plan.end())
  const table = new Uint8Array(loops.memory, takingAt, LABELS).fill(0)
  for (const label of taking) table[label] = 255
  const state = new Int32Array(loops.memory, stateAt, 3).fill(0)
  const look = (step: number, found: (written: Int32Array) => void): void => {
    state.fill(0)
    for (let row = reach; row < rows - reach; row += PIECE_ROWS) {
      const taken = Math.min(PIECE_ROWS, rows - reach - row)
      const piece = labels.subarray((row - reach) * columns, (row + taken + reach) * columns)
      new Uint8Array(loops.memory, labelsAt, piece.length).set(piece)
      state[2] = 0
      loops.innerCells(labelsAt, columns, taken, row, reach, takingAt, stateAt, step, intoAt)
      if (state[2]! > 0) found(new Int32Array(loops.memory, intoAt, state[2]!))
    }
  }
  look(0, () => {})
  const count = state[0]!
  const step = stepOf(count)
  const cells = new Int32Array(step > 0 ? Math.ceil(count / step) : 0)
  let at = 0
  if (step > 0)
    look(step, written => {
      cells.set(written, at)
      at += written.length
    })
  return { count, cells }
}

import { memoryPlan } from '../kernels/compiled-loops.js'
import { placeLoops } from '../kernels/place-loops.js'
import type { BlockOverview } from './block-overview.js'

/** Rows are handed to the compiled loops so many at a time. */
const PIECE_ROWS = 32
/** A cut is closed by what lies up to three cells further on. */
const AHEAD = 3

/**
 * Marks blocks darker than `below` (1), and then unmarked ones that have such blocks on two opposite sides (2): cuts of up to two blocks, on the
 * slant of one. Each row goes on with the one below it, as it lies in memory.
 */
export function closedMarks(
  { columns, rows, light }: Pick<BlockOverview, 'columns' | 'rows' | 'light'>,
  below: number,
): Uint8Array {
  const ahead = AHEAD * columns
  const plan = memoryPlan()
  const lightAt = plan.take(4 * columns * PIECE_ROWS)
  const marksAt = plan.take(columns * (PIECE_ROWS + AHEAD) + AHEAD)
  const loops = placeLoops(plan.end())
  const piece = new Float32Array(loops.memory, lightAt, columns * PIECE_ROWS)
  const marks = new Uint8Array(loops.memory, marksAt, columns * (PIECE_ROWS + AHEAD) + AHEAD)
  const closed = new Uint8Array(columns * rows)
  const cells = closed.length
  /** Marks the next blocks of the page from `at` of the piece on; beyond the page's end lies what is neither marked nor unmarked. */
  const mark = (first: number, at: number, n: number): void => {
    const taken = Math.max(0, Math.min(n, cells - first))
    piece.set(light.subarray(first, first + taken))
    loops.darkBlocks(lightAt, taken, below, marksAt + at)
    marks.fill(BEYOND, at + taken)
  }
  mark(0, 0, ahead)
  for (let from = 0; from < cells; from += columns * PIECE_ROWS) {
    mark(from + ahead, ahead, columns * PIECE_ROWS)
    const n = Math.min(columns * PIECE_ROWS, cells - from)
    loops.closeCuts(marksAt, columns, n)
    closed.set(marks.subarray(0, n), from)
    marks.copyWithin(0, n, n + ahead)
  }
  return closed
}

const BEYOND = 3

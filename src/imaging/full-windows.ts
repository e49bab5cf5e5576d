import { memoryPlan } from '../kernels/compiled-loops.js'
import { placeLoops } from '../kernels/place-loops.js'

/** Marks are handed to the compiled loop in pieces of about so many cells, at least a row. */
const PIECE = 65_536

/**
 * Where a whole window of marked cells fits: 1 at the window's first (top left) cell, else 0. An erosion by a rectangle, in two
 * passes of run lengths, so its cost does not grow with the window.
 * @param marks rows x columns; cells that are `mark`, or where none is told not 0, are marked
 */
export function fullWindows(
  marks: Uint8Array,
  columns: number,
  rows: number,
  width: number,
  height: number,
  mark = -1,
): Uint8Array {
  if (marks.length !== columns * rows)
    throw new RangeError(`marks must have ${columns * rows} entries; got ${marks.length}`)
  for (const [name, size] of [
    ['width', width],
    ['height', height],
  ] as const)
    if (!(Number.isInteger(size) && size >= 1))
      throw new RangeError(`${name} must be a whole number of cells, 1 or more; got ${size}`)
  const pieceRows = Math.max(1, Math.floor(PIECE / Math.max(1, columns)))
  const plan = memoryPlan()
  // Rows below, counted from the bottom up, on which a run of `width` begins at this column.
  const belowAt = plan.take(4 * columns)
  const marksAt = plan.take(pieceRows * columns)
  const fitsAt = plan.take(pieceRows * columns)
  const loops = placeLoops(plan.end())
  new Int32Array(loops.memory, belowAt, columns).fill(0)
  const fits = new Uint8Array(marks.length)
  for (let bottom = rows; bottom > 0; bottom -= pieceRows) {
    const top = Math.max(0, bottom - pieceRows)
    const cells = (bottom - top) * columns
    new Uint8Array(loops.memory, marksAt, cells).set(marks.subarray(top * columns, bottom * columns))
    loops.fullRows(marksAt, mark, columns, bottom - top, width, height, belowAt, fitsAt)
    fits.set(new Uint8Array(loops.memory, fitsAt, cells), top * columns)
  }
  return fits
}

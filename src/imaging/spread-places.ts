import { memoryPlan } from '../kernels/compiled-loops.js'
import { placeLoops } from '../kernels/place-loops.js'

/**
 * At most `most` cells of a grid, no two nearer than `apart`, spread by taking first the one nearest to the middle of all and then always the one farthest
 * from those taken.
 * @param cells indices, row by row
 */
export function spreadPlaces(cells: ArrayLike<number>, columns: number, most: number, apart: number): number[] {
  const n = cells.length
  if (n === 0) return []
  const plan = memoryPlan()
  const nearestAt = plan.take(8 * n)
  const columnsAt = plan.take(4 * n)
  const rowsAt = plan.take(4 * n)
  const loops = placeLoops(plan.end())
  const column = new Int32Array(loops.memory, columnsAt, n)
  const row = new Int32Array(loops.memory, rowsAt, n)
  const middle = { column: 0, row: 0 }
  for (let i = 0; i < n; i++) {
    const cell = cells[i]!
    const r = Math.floor(cell / columns)
    column[i] = cell - r * columns
    row[i] = r
    middle.column += cell - r * columns
    middle.row += r
  }
  const nearest = new Float64Array(loops.memory, nearestAt, n).fill(Number.POSITIVE_INFINITY)
  let next = loops.nearestPlace(columnsAt, rowsAt, n, middle.column / n, middle.row / n)
  const taken = [cells[next]!]
  while (taken.length < most) {
    next = loops.farthestPlace(columnsAt, rowsAt, n, next, nearestAt)
    if (nearest[next]! < apart ** 2) break
    taken.push(cells[next]!)
  }
  return taken
}

import { Matrix, solve } from 'ml-matrix'
import { median } from '../imaging/robust.js'

/** How light falls over a scan, as places of one kind of film (or none) show it. */
export interface SeenFall {
  /** Fall at a place of the grid, D, from the mean of the first group's places (of the next where the first has none). */
  at(column: number, row: number): number
  /** The most fall, either way, over the places it was taken from, D. */
  readonly most: number
}

/** Fewer places say nothing. */
const FEWEST = 150
/** Places whose neighbours this far off are of another group are at an edge. */
const REACH = 2
/** Places used at most: a page has a million. */
const MOST = 6000
const ROUNDS = 3
/** Residuals below this are noise, D. */
const NOISE = 2e-4
const RIDGE = 1e-5

/**
 * Fall of light over a scan without a flat field, from places that ought to be equally bright: a surface of order 2, with a level of its own
 * for each group. Assumes that each group is one film or none.
 * @param light light of each cell, row by row
 * @param group 0 for cells that take no part, else the number of their group, from 1
 * @returns null when too few cells take part
 */
export function seenFall(columns: number, rows: number, light: ArrayLike<number>, group: Uint8Array): SeenFall | null {
  const far = REACH * columns
  const isInner = (at: number): boolean => {
    const own = group[at]!
    return (
      own !== 0 &&
      light[at]! > 0 &&
      group[at - REACH] === own &&
      group[at + REACH] === own &&
      group[at - far] === own &&
      group[at + far] === own &&
      group[at - far - REACH] === own &&
      group[at - far + REACH] === own &&
      group[at + far - REACH] === own &&
      group[at + far + REACH] === own
    )
  }
  const inner = new Int32Array(columns * rows)
  let count = 0
  for (let r = REACH; r < rows - REACH; r++)
    for (let c = REACH; c < columns - REACH; c++) {
      const at = r * columns + c
      if (group[at] !== 0 && isInner(at)) inner[count++] = at
    }
  if (!(count >= FEWEST)) return null
  const step = Math.max(1, Math.floor(count / MOST))
  const places: number[] = []
  for (let k = 0; k < count; k += step) places.push(inner[k]!)
  const groups = [...new Set(places.map(at => group[at]!))].sort()
  const density = places.map(at => -Math.log10(light[at]!))
  const shapes = places.map(at => shape(place(at % columns, columns), place(Math.floor(at / columns), rows)))
  const members = places.map((_, i) => groups.map(g => (group[places[i]!] === g ? 1 : 0)))
  const rowsOf = places.map((_, i) => [...shapes[i]!, ...members[i]!])
  let weights = places.map(() => 1)
  let fitted = solved(rowsOf, density, weights)
  for (let round = 0; round < ROUNDS; round++) {
    const off = rowsOf.map((row, i) => density[i]! - dot(fitted, row))
    const deviation = Math.max(1.4826 * median(off.map(Math.abs)), NOISE)
    weights = off.map(o => (Math.abs(o) <= 4 * deviation ? 1 : 0))
    fitted = solved(rowsOf, density, weights)
  }
  const fall = (i: number) => dot(fitted, shapes[i]!)
  const counted = places.map((_, i) => i).filter(i => weights[i] === 1)
  const reference = counted.filter(i => group[places[i]!] === groups[0])
  const of = reference.length > 0 ? reference : counted
  const level = of.reduce((sum, i) => sum + fall(i), 0) / of.length
  return {
    at: (column, row) => dot(fitted, shape(place(column, columns), place(row, rows))) - level,
    most: counted.reduce((most, i) => Math.max(most, Math.abs(fall(i) - level)), 0),
  }
}

/** Cells from -1 to 1. */
function place(index: number, count: number): number {
  return (2 * (index + 0.5)) / count - 1
}

function shape(u: number, v: number): number[] {
  return [u, v, u * u, u * v, v * v]
}

/** Over the shorter list. */
function dot(a: readonly number[], b: readonly number[]): number {
  let sum = 0
  for (let i = 0; i < Math.min(a.length, b.length); i++) sum += a[i]! * b[i]!
  return sum
}

function solved(rows: readonly (readonly number[])[], values: readonly number[], weights: readonly number[]): number[] {
  const n = rows[0]!.length
  const sums = new Float64Array(n * n)
  const rights = new Float64Array(n)
  for (let i = 0; i < rows.length; i++) {
    if (weights[i] !== 1) continue
    const row = rows[i]!
    for (let j = 0; j < n; j++) {
      rights[j]! += row[j]! * values[i]!
      for (let k = 0; k < n; k++) sums[j * n + k]! += row[j]! * row[k]!
    }
  }
  const normal = Matrix.from1DArray(n, n, sums)
  const right = Matrix.columnVector(rights)
  // Places along one line say nothing of the other direction: no fall is then the answer, not a wild one.
  for (let j = 0; j < n; j++) normal.set(j, j, normal.get(j, j) + RIDGE * rows.length)
  return solve(normal, right, true).to1DArray()
}

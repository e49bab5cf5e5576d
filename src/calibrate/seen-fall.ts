import { innerCells } from '../imaging/inner-cells.js'
import { robustTerms } from '../imaging/robust-terms.js'

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
const SHAPES = 5

/**
 * Fall of light over a scan without a flat field, from places that ought to be equally bright: a surface of order 2, with a level of its own
 * for each group. Assumes that each group is one film or none.
 * @param light light of each cell, row by row; above 0 where it takes part
 * @param labels label of each cell, 0 to 15
 * @param taking the labels that take part, each a group, in rising order
 * @returns null when too few cells take part
 */
export function seenFall(
  columns: number,
  rows: number,
  light: ArrayLike<number>,
  labels: Uint8Array,
  taking: readonly number[],
): SeenFall | null {
  const { count, cells: places } = innerCells({ columns, rows, labels, taking, reach: REACH }, count =>
    count >= FEWEST ? Math.max(1, Math.floor(count / MOST)) : 0,
  )
  if (!(count >= FEWEST)) return null
  const groups = taking.filter(label => places.some(at => labels[at] === label))
  // Each place's five shapes, and which group it is of.
  const width = SHAPES + groups.length
  // Places along one line say nothing of the other direction: no fall is then the answer, not a wild one.
  const fit = robustTerms(places.length, width, { rounds: ROUNDS, noise: NOISE, ridge: RIDGE })
  const { terms } = fit
  for (let i = 0; i < places.length; i++) {
    const at = places[i]!
    fit.values[i] = -Math.log10(light[at]!)
    const row = Math.floor(at / columns)
    const u = place(at - row * columns, columns)
    const v = place(row, rows)
    const from = i * width
    terms[from] = u
    terms[from + 1] = v
    terms[from + 2] = u * u
    terms[from + 3] = u * v
    terms[from + 4] = v * v
    terms[from + SHAPES + groups.indexOf(labels[at]!)] = 1
  }
  const { fitted, weights } = fit.solved()
  const fall = (i: number) => dot(fitted, terms, i * width, SHAPES)
  const counted = Array.from(places.keys()).filter(i => weights[i] === 1)
  const reference = counted.filter(i => labels[places[i]!] === groups[0])
  const of = reference.length > 0 ? reference : counted
  const level = of.reduce((sum, i) => sum + fall(i), 0) / of.length
  return {
    at: (column, row) => dot(fitted, shape(place(column, columns), place(row, rows)), 0, SHAPES) - level,
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

/** Of the first `count` of the terms from one place on. */
function dot(fitted: readonly number[], terms: ArrayLike<number>, from: number, count: number): number {
  let sum = 0
  for (let k = 0; k < count; k++) sum += fitted[k]! * terms[from + k]!
  return sum
}

import type { VarianceLine } from '../model/gauge-study.js'
import { fTail } from './f-distribution.js'

/** A crossed two-way table worked out; the factors are tested against the interaction (both random). */
export interface CrossedAnalysis {
  readonly first: VarianceLine
  readonly second: VarianceLine
  readonly interaction: VarianceLine
  readonly within: VarianceLine
  readonly total: Sum
}

/** A one-way table worked out. */
export interface OneWayAnalysis {
  readonly between: VarianceLine
  readonly within: VarianceLine
  readonly total: Sum
}

export interface Sum {
  readonly sumOfSquares: number
  readonly degreesOfFreedom: number
}

/**
 * Crossed two-way analysis of variance with repeats, both factors random (Montgomery, Design and Analysis of
 * Experiments, chapter on random factors, from memory).
 * Deviations are taken from means before they are squared, and means from a value of the set, so a large constant on
 * all values costs no digits but those it has already cost the data.
 * @param values `values[i][j]` holds the repeats at level i of the first factor and level j of the second
 * @returns sums of squares and mean squares in the square of the unit; p is the upper tail of F
 * @throws RangeError for fewer than two levels or repeats, an unbalanced table, or a value that is not finite
 */
export function analysisOfVariance(values: readonly (readonly (readonly number[])[])[]): CrossedAnalysis {
  const a = values.length
  const b = values[0]?.length ?? 0
  const r = values[0]?.[0]?.length ?? 0
  checkCount('levels of the first factor', a)
  checkCount('levels of the second factor', b)
  checkCount('repeats', r)
  for (const row of values) {
    if (row.length !== b) throw new RangeError(`every level must be crossed with ${b} levels; got ${row.length}`)
    for (const cell of row) {
      if (cell.length !== r) throw new RangeError(`every cell must hold ${r} repeats; got ${cell.length}`)
      checkFinite(cell)
    }
  }
  const cellMeans = values.map(row => row.map(meanOf))
  const firstMeans = cellMeans.map(meanOf)
  const secondMeans = cellMeans[0]!.map((_, j) => meanOf(cellMeans.map(row => row[j]!)))
  const grand = meanOf(firstMeans)
  let crossed = 0
  let within = 0
  let total = 0
  for (let i = 0; i < a; i++)
    for (let j = 0; j < b; j++) {
      const mean = cellMeans[i]![j]!
      crossed += (mean - firstMeans[i]! - (secondMeans[j]! - grand)) ** 2
      for (const value of values[i]![j]!) {
        within += (value - mean) ** 2
        total += (value - grand) ** 2
      }
    }
  const scatter = line(within, a * b * (r - 1), null)
  const interaction = line(r * crossed, (a - 1) * (b - 1), scatter)
  return {
    first: line(b * r * squaresAbout(firstMeans, grand), a - 1, interaction),
    second: line(a * r * squaresAbout(secondMeans, grand), b - 1, interaction),
    interaction,
    within: scatter,
    total: { sumOfSquares: total, degreesOfFreedom: a * b * r - 1 },
  }
}

/**
 * One-way analysis of variance; levels may hold different counts.
 * @param levels the values at each level
 * @throws RangeError for fewer than two levels, an empty level, no repeat anywhere, or a value that is not finite
 */
export function oneWayAnalysis(levels: readonly (readonly number[])[]): OneWayAnalysis {
  checkCount('levels', levels.length)
  for (const level of levels) {
    if (!(level.length >= 1)) throw new RangeError('every level must hold a value; got an empty one')
    checkFinite(level)
  }
  const count = levels.reduce((sum, level) => sum + level.length, 0)
  if (!(count > levels.length)) throw new RangeError(`values must outnumber the ${levels.length} levels; got ${count}`)
  const grand = meanOf(levels.flat())
  let between = 0
  let within = 0
  let total = 0
  for (const level of levels) {
    const mean = meanOf(level)
    between += level.length * (mean - grand) ** 2
    within += squaresAbout(level, mean)
    total += squaresAbout(level, grand)
  }
  const scatter = line(within, count - levels.length, null)
  return {
    between: line(between, levels.length - 1, scatter),
    within: scatter,
    total: { sumOfSquares: total, degreesOfFreedom: count - 1 },
  }
}

/** A line of the table, tested against another; untested when that one shows no scatter to test against. */
export function line(sumOfSquares: number, degreesOfFreedom: number, against: VarianceLine | null): VarianceLine {
  const meanSquare = sumOfSquares / degreesOfFreedom
  if (against === null || !(against.meanSquare > 0))
    return { sumOfSquares, degreesOfFreedom, meanSquare, f: null, p: null }
  const f = meanSquare / against.meanSquare
  return { sumOfSquares, degreesOfFreedom, meanSquare, f, p: fTail(f, degreesOfFreedom, against.degreesOfFreedom) }
}

/** Mean taken from the first value, so that equal values have exactly that mean and a common offset cancels. */
export function meanOf(values: readonly number[]): number {
  const from = values[0]!
  let sum = 0
  for (const value of values) sum += value - from
  return from + sum / values.length
}

function squaresAbout(values: readonly number[], centre: number): number {
  let sum = 0
  for (const value of values) sum += (value - centre) ** 2
  return sum
}

function checkCount(name: string, count: number): void {
  if (!(count >= 2)) throw new RangeError(`${name} must be 2 or more; got ${count}`)
}

function checkFinite(values: readonly number[]): void {
  for (const value of values)
    if (!Number.isFinite(value)) throw new RangeError(`every value must be a finite number; got ${value}`)
}

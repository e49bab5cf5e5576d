import { median, robustDeviation } from '../imaging/robust.js'
import { studentT95 } from '../imaging/student-t.js'
import type { Component } from '../model/reading.js'

/** A change as each of several places shows it. */
export interface PlaceChange {
  readonly value: number
  /** Standard uncertainty of its own. */
  readonly standard: number
}

/** Values further from the middle than this many robust deviations count less and less (Huber, Ann. Math. Statist. 35, 73, 1964). */
const HUBER = 1.5
const ROUNDS = 20

/** Of fewer places than this none can be told to be an outlier: their plain mean and deviation speak. */
const FEWEST_FOR_OUTLIERS = 6

/**
 * Huber's mean of the changes with its standard uncertainty: from their scatter (variance of an M-estimate, Huber 1964, with Student's
 * factor for so few values, so that twice it covers 95 %), or from their own uncertainties where they scatter less than those allow.
 * @throws RangeError on an empty list
 */
export function combineGrowth(changes: readonly PlaceChange[]): { readonly value: number; readonly standard: number } {
  if (changes.length === 0) throw new RangeError('combineGrowth needs at least one change')
  const values = changes.map(change => change.value)
  const n = values.length
  const own = median(changes.map(change => change.standard))
  const bend =
    n < FEWEST_FOR_OUTLIERS ? Number.POSITIVE_INFINITY : HUBER * Math.max(robustDeviation(values), 0.3 * own, 1e-6)
  let value = median(values)
  for (let round = 0; round < ROUNDS; round++) {
    let top = 0
    let sum = 0
    for (const v of values) {
      const off = Math.abs(v - value)
      const weight = off <= bend ? 1 : bend / off
      top += weight * v
      sum += weight
    }
    value = top / sum
  }
  let squares = 0
  let inside = 0
  for (const v of values) {
    const off = Math.abs(v - value)
    squares += Math.min(off, bend) ** 2
    if (off <= bend) inside++
  }
  const scatter =
    n > 1 ? ((Math.sqrt(squares / (n - 1)) / (inside / n)) * (studentT95(n - 1) / 1.96)) / Math.sqrt(n) : 0
  return { value, standard: Math.max(scatter, own / Math.sqrt(n)) }
}

/** Twice the root of the sum of squares: U. */
export function expandedOf(budget: readonly Component[]): number {
  return 2 * Math.hypot(...budget.map(component => component.standard))
}

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

/**
 * Huber's mean of the changes with its standard uncertainty: from their scatter, or from their own uncertainties where they scatter less than
 * those allow (few places may agree by chance). Scaled so that twice it covers 95 % for so few values (Student).
 * @throws RangeError on an empty list
 */
export function combineGrowth(changes: readonly PlaceChange[]): { readonly value: number; readonly standard: number } {
  if (changes.length === 0) throw new RangeError('combineGrowth needs at least one change')
  const values = changes.map(change => change.value)
  const own = median(changes.map(change => change.standard))
  const spread = changes.length >= 4 ? robustDeviation(values) : deviation(values)
  const scale = Math.max(spread, 0.3 * own, 1e-6)
  let value = median(values)
  let sum = 0
  for (let round = 0; round < ROUNDS; round++) {
    let top = 0
    sum = 0
    for (const v of values) {
      const off = Math.abs(v - value)
      const weight = off <= HUBER * scale ? 1 : (HUBER * scale) / off
      top += weight * v
      sum += weight
    }
    const next = top / sum
    const settled = Math.abs(next - value) < 1e-6 * scale
    value = next
    if (settled) break
  }
  // Huber's weights cost a few percent of certainty on normal values.
  const n = values.length
  const scatter = n > 1 ? (1.03 * spread * (studentT95(n - 1) / 1.96)) / Math.sqrt(n) : 0
  return { value, standard: Math.max(scatter, own / Math.sqrt(n)) }
}

function deviation(values: readonly number[]): number {
  if (values.length < 2) return 0
  const mean = values.reduce((sum, v) => sum + v, 0) / values.length
  return Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (values.length - 1))
}

/** Twice the root of the sum of squares: U. */
export function expandedOf(budget: readonly Component[]): number {
  return 2 * Math.hypot(...budget.map(component => component.standard))
}

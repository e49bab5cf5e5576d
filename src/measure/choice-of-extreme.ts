import { normalQuantile } from '../imaging/normal.js'
import type { Component } from '../model/reading.js'

/** Values of equal things lie this near to their greatest, in their standard uncertainties: 2 x sqrt(2). */
const NEAR = 2.83

/**
 * What picking the greatest or least of several readings adds to its uncertainty. Where noise alone may have chosen among n,
 * the chosen one is off by more than any single one: its 97.5 % point is that of the greatest of n normal values,
 * `quantile(0.975^(1/n))` (order statistics; Sidak, J. Am. Stat. Assoc. 62, 626, 1967; from memory). Those further from it than noise
 * reaches do not compete.
 * @param own standard uncertainty that each reading has of its own, unit of the values
 */
export function choiceOfExtreme(values: readonly number[], chosen: number, own: number, unit: 'D' | 'um'): Component {
  const n = values.filter(value => Math.abs(value - chosen) <= NEAR * own).length
  const factor = normalQuantile(0.975 ** (1 / Math.max(1, n))) / normalQuantile(0.975)
  const sensitivity = Math.sqrt(Math.max(0, factor ** 2 - 1))
  return {
    name: 'choice among several',
    standard: sensitivity * own,
    type: 'B',
    input: { standard: own, unit },
    sensitivity,
    degreesOfFreedom: null,
  }
}

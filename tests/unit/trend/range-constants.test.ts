import { expect, it } from 'vitest'
import { rangeConstants } from '../../../src/trend/range-constants.js'
import { expectWithin } from '../../support/expect-within.js'

it.each([
  [2, 1.12838, 0.8525],
  [3, 1.69257, 0.88837],
  [4, 2.05875, 0.87981],
  [5, 2.32593, 0.86408],
  [10, 3.07751, 0.79705],
  [25, 3.93063, 0.70844],
])('range of %d values (tables of d2 and d3, from memory; 2 in closed form)', (count, d2, d3) => {
  const made = rangeConstants(count)
  expectWithin(made.d2, d2, { abs: 5.1e-6, unit: 'sigma', because: 'half a last digit of the table' })
  expectWithin(made.d3, d3, { abs: 5.1e-6, unit: 'sigma', because: 'half a last digit of the table' })
})

it('two and three values have closed forms', () => {
  const exact = { abs: 1e-7, unit: 'sigma', because: 'error of the numerical integral' }
  expectWithin(rangeConstants(2).d2, 2 / Math.sqrt(Math.PI), exact)
  expectWithin(rangeConstants(2).d3, Math.sqrt(2 - 4 / Math.PI), exact)
  expectWithin(rangeConstants(3).d2, 3 / Math.sqrt(Math.PI), exact)
})

it('gives the factors of the average-and-range form (K1, K2, K3 of the classic tables, from memory)', () => {
  const alone = (count: number) => 1 / Math.hypot(rangeConstants(count).d2, rangeConstants(count).d3)
  const asPrinted = { abs: 5.1e-5, unit: '', because: 'four decimals in the tables' }
  expectWithin(1 / rangeConstants(2).d2, 0.8862, asPrinted)
  expectWithin(1 / rangeConstants(3).d2, 0.5908, asPrinted)
  for (const [count, k] of [
    [2, Math.SQRT1_2],
    [3, 0.5231],
    [4, 0.4467],
    [5, 0.403],
    [6, 0.3742],
    [7, 0.3534],
    [8, 0.3375],
    [9, 0.3249],
    [10, 0.3146],
  ] as const)
    expectWithin(alone(count), k, asPrinted)
})

it('serves 2 to 200 values and refuses others', () => {
  expect(rangeConstants(200).d2).toBeGreaterThan(rangeConstants(199).d2)
  for (const bad of [1, 201, 2.5, Number.NaN]) expect(() => rangeConstants(bad)).toThrow(/count must be a whole number/)
})

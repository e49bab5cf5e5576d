import { expect, it } from 'vitest'
import { averageAndRange, distinctCategories, rangeLimit, rangeOf } from '../../../src/trend/average-and-range.js'
import { expectWithin } from '../../support/expect-within.js'

it('two parts, two operators, two repeats, by hand', () => {
  // Ranges .2 .2 / .4 .4; operator means 2, 2.1; part means 1.05 and 3.05.
  const form = averageAndRange([
    [
      [0.9, 1.1],
      [1, 1.2],
    ],
    [
      [2.8, 3.2],
      [2.9, 3.3],
    ],
  ])!
  const exact = { abs: 1e-6, unit: '', because: 'constants of the range are good to 1e-7' }
  expectWithin(form.averageRange, 0.3, exact)
  expectWithin(form.equipmentVariation, (0.3 * Math.sqrt(Math.PI)) / 2, exact)
  expectWithin(form.operatorDifference!, 0.1, exact)
  // (0.1 / sqrt 2)^2 = .005 is less than EV^2 / 4: set to 0.
  expect(form.appraiserVariation).toBe(0)
  expectWithin(form.partVariation, 2 / Math.SQRT2, exact)
  expect(form.gauge).toBe(form.equipmentVariation)
})

it('with one operator there is no variation of operators', () => {
  const form = averageAndRange([[[1, 2]], [[4, 5]]])!
  expect(form).toMatchObject({ operatorDifference: null, appraiserVariation: null, percent: { appraiser: null } })
})

it('is nothing when neither ranges nor means differ (only the crossing does)', () => {
  expect(
    averageAndRange([
      [
        [1, 1],
        [2, 2],
      ],
      [
        [2, 2],
        [1, 1],
      ],
    ]),
  ).toBeNull()
})

it('limit of ranges: D4 3.267 for two repeats, 2.574 for three, 2.282 for four (tables, from memory)', () => {
  for (const [repeats, d4] of [
    [2, 3.267],
    [3, 2.5746],
    [4, 2.282],
  ] as const)
    expectWithin(rangeLimit(1, repeats), d4, { abs: 6e-4, unit: '', because: 'three decimals in the tables' })
})

it('distinct categories are whole and cut, not rounded', () => {
  expect(distinctCategories(1, Math.SQRT2 / 4.99)).toBe(4)
  expect(distinctCategories(1, Math.SQRT2 / 5.01)).toBe(5)
  expect(distinctCategories(0, 1)).toBe(0)
  expect(distinctCategories(1, 0)).toBeNull()
  expect(rangeOf([3, -1, 2])).toBe(4)
})

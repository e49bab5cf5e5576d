import { expect, it } from 'vitest'
import { chiSquaredQuantile } from '../../../src/trend/chi-squared.js'
import { varianceInterval } from '../../../src/trend/variance-interval.js'
import { expectWithin } from '../../support/expect-within.js'

const term = (weight: number, meanSquare: number, degreesOfFreedom: number) => ({
  weight,
  meanSquare,
  degreesOfFreedom,
})

it('a single mean square has its own chi-squared interval', () => {
  const { lower, upper } = varianceInterval([term(2, 3, 7)], 0.9)
  const exact = { abs: 1e-12, unit: '', because: 'the method is exact there' }
  expectWithin(lower, (6 * 7) / chiSquaredQuantile(0.95, 7), exact)
  expectWithin(upper, (6 * 7) / chiSquaredQuantile(0.05, 7), exact)
})

it('a term of no weight changes nothing; more confidence widens; more degrees of freedom narrow', () => {
  const base = varianceInterval([term(1, 2, 5), term(0.5, 3, 9)], 0.9)
  expect(varianceInterval([term(1, 2, 5), term(0.5, 3, 9), term(0, 99, 1)], 0.9)).toEqual(base)
  const surer = varianceInterval([term(1, 2, 5), term(0.5, 3, 9)], 0.99)
  const larger = varianceInterval([term(1, 2, 50), term(0.5, 3, 90)], 0.9)
  expect(surer.lower).toBeLessThan(base.lower)
  expect(surer.upper).toBeGreaterThan(base.upper)
  expect(larger.lower).toBeGreaterThan(base.lower)
  expect(larger.upper).toBeLessThan(base.upper)
})

it('serves very large studies, and refuses what cannot be', () => {
  expect(varianceInterval([term(1, 2, 8e6)], 0.9).upper).toBeLessThan(2.05)
  expect(varianceInterval([term(0, 2, 3)], 0.9)).toEqual({ lower: 0, upper: 0 })
  for (const weight of [-1e-9, Number.NaN]) expect(() => varianceInterval([term(weight, 1, 1)], 0.9)).toThrow(/weight/)
  for (const degrees of [0, Number.NaN])
    expect(() => varianceInterval([term(1, 1, degrees)], 0.9)).toThrow(/degrees of freedom must be above 0/)
  expect(() => varianceInterval([term(1, 1, 1)], 1)).toThrow(/probability/)
})

import { expect, it } from 'vitest'
import { chiSquaredQuantile } from '../../../src/trend/chi-squared.js'
import { expectWithin } from '../../support/expect-within.js'

it('two degrees of freedom: closed form', () => {
  for (const p of [1e-6, 0.05, 0.5, 0.95, 0.999]) {
    const wanted = -2 * Math.log1p(-p)
    expectWithin(chiSquaredQuantile(p, 2), wanted, { abs: 1e-10 * wanted, unit: '', because: 'stated in the function' })
  }
})

it.each([
  [0.95, 1, 3.841459],
  [0.95, 10, 18.307038],
  [0.05, 10, 3.940299],
])('quantile %d of %d degrees of freedom is %d (tables, from memory)', (p, degrees, wanted) => {
  expectWithin(chiSquaredQuantile(p, degrees), wanted, { abs: 5.1e-7, unit: '', because: 'six decimals' })
})

it('works to the ends of its range and refuses beyond', () => {
  expectWithin(chiSquaredQuantile(0.5, 100_000), 100_000 - 2 / 3, {
    abs: 1e-3,
    unit: '',
    because: 'median is nu - 2/3',
  })
  expect(chiSquaredQuantile(0.05, 0.5)).toBeGreaterThan(0)
  for (const p of [0, 1, Number.NaN]) expect(() => chiSquaredQuantile(p, 5)).toThrow(/probability/)
  for (const degrees of [0, 100_001, Number.NaN])
    expect(() => chiSquaredQuantile(0.5, degrees)).toThrow(/degrees of freedom/)
})

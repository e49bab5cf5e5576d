import { describe, expect, it } from 'vitest'
import { poissonInterval } from '../../src/imaging/poisson-interval.js'

/** Half the chi-squared quantiles, computed outside the project (list of checks, T58). */
describe('exact interval of a Poisson mean', () => {
  it.each([
    [0, 2.99573],
    [1, 4.74386],
    [2, 6.29579],
    [3, 7.75366],
  ])('%i found: 95 %% upper bound %f', (found, upper) => {
    // One-sided 95 % is the upper end of the two-sided 90 %.
    expect(Math.abs(poissonInterval(found, 0.9).high - upper)).toBeLessThanOrEqual(1e-5)
  })

  it('5 found: 90 % two-sided', () => {
    const { low, high } = poissonInterval(5, 0.9)
    expect(Math.abs(low - 1.97015)).toBeLessThanOrEqual(1e-5)
    expect(Math.abs(high - 10.51303)).toBeLessThanOrEqual(1e-5)
  })
})

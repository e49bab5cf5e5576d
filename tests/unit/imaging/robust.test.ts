import { describe, expect, it } from 'vitest'
import { median, quantile, robustDeviation, trimmedMean } from '../../../src/imaging/robust.js'

describe('robust', () => {
  it('takes the middle of odd and even lists and leaves the list alone', () => {
    const list = [3, 1, 2]
    expect(median(list)).toBe(2)
    expect(list).toEqual([3, 1, 2])
    expect(median([4, 1, 2, 3])).toBe(2.5)
  })

  it('gives the standard deviation of a normal list in spite of outliers', () => {
    // Quantiles of a normal distribution of sigma 2, and one wild value.
    const list = [-3.29, -2.1, -1.35, -0.76, -0.25, 0.25, 0.76, 1.35, 2.1, 3.29, 1e6]
    expect(robustDeviation(list)).toBeGreaterThan(1.5)
    expect(robustDeviation(list)).toBeLessThan(2.5)
  })

  it('drops both tails before the mean', () => {
    expect(trimmedMean([0, 1, 2, 3, 100], 0.2)).toBe(2)
    expect(trimmedMean([0, 1, 2, 3, 100], 0)).toBe(21.2)
  })

  it('refuses empty lists and shares outside 0 to 0.45', () => {
    expect(() => median([])).toThrow(RangeError)
    expect(() => quantile([], 0.5)).toThrow(RangeError)
    expect(() => trimmedMean([], 0)).toThrow(RangeError)
    expect(() => trimmedMean([1], 0.46)).toThrow('share must be 0 to 0.45; got 0.46')
    expect(() => trimmedMean([1], Number.NaN)).toThrow(RangeError)
    expect(trimmedMean([1], 0.45)).toBe(1)
  })
})

import { describe, expect, it } from 'vitest'
import { individualsChart } from '../../../src/trend/individuals-chart.js'
import { expectWithin } from '../../support/expect-within.js'

describe('individualsChart', () => {
  it('is mean -+ 2.66 mean moving ranges', () => {
    const { mean, movingRange, lower, upper } = individualsChart([10, 12, 11, 13])
    expect([mean, movingRange]).toEqual([11.5, 5 / 3])
    const reach = 2.658681 * (5 / 3)
    expectWithin(upper, 11.5 + reach, { abs: 2e-6, unit: '', because: 'the constant is given to six decimals' })
    expectWithin(lower, 11.5 - reach, { abs: 2e-6, unit: '', because: 'the constant is given to six decimals' })
  })

  it('does not let a slow drift widen its own limits', () => {
    const drift = Array.from({ length: 12 }, (_, i) => 100 + i)
    const { upper } = individualsChart(drift)
    expect(drift.at(-1)).toBeGreaterThan(upper)
    const jitter = Array.from({ length: 12 }, (_, i) => 100 + (i % 2))
    expect(jitter.at(-1)).toBeLessThan(individualsChart(jitter).upper)
  })

  it('refuses a single value and one that is not finite', () => {
    expect(() => individualsChart([1])).toThrow(/2 or more; got 1/)
    expect(individualsChart([1, 1]).movingRange).toBe(0)
    expect(() => individualsChart([1, Number.NaN])).toThrow(/value 1 must be finite; got NaN/)
  })
})

import { describe, expect, it } from 'vitest'
import { expandedUncertainty } from '../../../src/measure/expanded-uncertainty.js'

describe('expandedUncertainty', () => {
  it('is twice the root of the sum of squares when nothing is short of degrees of freedom', () => {
    const made = expandedUncertainty([
      { name: 'a', standard: 3, degreesOfFreedom: null },
      { name: 'b', standard: 4 },
    ])
    expect(made).toEqual({ standard: 5, degreesOfFreedom: null, coverageFactor: 2, expanded: 10 })
  })

  it('never lets k fall below 2, and widens it below 61 degrees of freedom', () => {
    const k = (degreesOfFreedom: number) =>
      expandedUncertainty([{ name: 'a', standard: 1, degreesOfFreedom }]).coverageFactor
    expect(k(61)).toBe(2)
    expect(k(60)).toBeCloseTo(2.0003, 4)
    expect(k(5)).toBeCloseTo(2.5706, 4)
    expect(k(1)).toBeCloseTo(12.7062, 3)
  })

  it('is nothing for a budget of nothing', () => {
    expect(expandedUncertainty([{ name: 'a', standard: 0, degreesOfFreedom: 3 }]).expanded).toBe(0)
    expect(expandedUncertainty([]).expanded).toBe(0)
  })

  it('refuses less than one degree of freedom', () => {
    const of = (degreesOfFreedom: number) => () => expandedUncertainty([{ name: 'a', standard: 1, degreesOfFreedom }])
    expect(of(0.99)).toThrow(RangeError)
    expect(of(Number.NaN)).toThrow(RangeError)
    expect(of(1)).not.toThrow()
  })
})

import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { conformanceProbability } from '../../../src/judge/conformance.js'
import { expectWithin } from '../../support/expect-within.js'

const ERF = { abs: 3e-7, unit: '', because: 'twice the stated error of the error function' }

describe('conformanceProbability', () => {
  it('is a half on the limit and a step without uncertainty', () => {
    expectWithin(conformanceProbability(3.5, 0.04, { min: 3.5 }), 0.5, ERF)
    expect(conformanceProbability(3.5, 0, { min: 3.5 })).toBe(1)
    expect(conformanceProbability(3.4999, 0, { min: 3.5 })).toBe(0)
    expect(conformanceProbability(2, 0, { min: 1, max: 2 })).toBe(1)
    expect(conformanceProbability(2.0001, 0, { min: 1, max: 2 })).toBe(0)
  })

  it('is 1 without a limit and stays within 0 and 1 far away', () => {
    expect(conformanceProbability(3, 0.1, {})).toBe(1)
    expect(conformanceProbability(1e9, 1e-9, { min: 0 })).toBe(1)
    expect(conformanceProbability(-1e9, 1e-9, { min: 0 })).toBe(0)
  })

  it.each([
    [Number.NaN, 1, { min: 1 }],
    [Number.POSITIVE_INFINITY, 1, { min: 1 }],
    [1, Number.NaN, { min: 1 }],
    [1, -0.001, { min: 1 }],
    [1, Number.POSITIVE_INFINITY, { min: 1 }],
    [1, 1, { min: Number.NaN }],
    [1, 1, { max: Number.POSITIVE_INFINITY }],
  ])('refuses value %d, u %d, limit %o', (value, u, limit) => {
    expect(() => conformanceProbability(value, u, limit)).toThrow(RangeError)
  })

  it('never falls when the value moves away from its one limit, and mirrors', () => {
    const number = fc.double({ min: -10, max: 10, noNaN: true })
    fc.assert(
      fc.property(number, number, fc.double({ min: 0.001, max: 5, noNaN: true }), number, (a, b, u, min) => {
        const low = conformanceProbability(Math.min(a, b), u, { min })
        const high = conformanceProbability(Math.max(a, b), u, { min })
        expect(high).toBeGreaterThanOrEqual(low - ERF.abs)
        expectWithin(conformanceProbability(-a, u, { max: -min }), conformanceProbability(a, u, { min }), ERF)
      }),
      { seed: 1, numRuns: 500 },
    )
  })
})

import { describe, expect, it } from 'vitest'
import { normalCdf, normalQuantile } from '../../../src/imaging/normal.js'
import { expectWithin } from '../../support/expect-within.js'

describe('normal distribution', () => {
  // Values of the standard normal table (any statistics handbook; digits from memory).
  it.each([
    [0, 0.5],
    [1, 0.841344746068543],
    [-1.959963984540054, 0.025],
    [-3, 0.00134989803163009],
    [2.5758293035489, 0.995],
  ])('P(Z <= %f) = %f', (z, p) => {
    expectWithin(normalCdf(z), p, { abs: 1e-9, unit: '', because: 'cubic interpolation of a fine table' })
  })

  it('turns back on itself and is symmetric', () => {
    for (const p of [1e-6, 0.01, 0.3, 0.5, 0.9, 0.999]) {
      expectWithin(normalCdf(normalQuantile(p)), p, { abs: 1e-10, unit: '', because: 'bisection' })
      expectWithin(normalQuantile(1 - p), -normalQuantile(p), { abs: 1e-6, unit: '', because: 'symmetry' })
    }
  })

  it('refuses 0 and 1 and NaN', () => {
    for (const p of [0, 1, Number.NaN]) expect(() => normalQuantile(p)).toThrow(RangeError)
  })

  it('is flat far out', () => {
    expect(normalCdf(-9)).toBe(0)
    expect(normalCdf(9)).toBe(1)
  })
})

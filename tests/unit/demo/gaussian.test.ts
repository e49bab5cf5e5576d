import { describe, expect, it } from 'vitest'
import { gaussianCdf, gaussianQuantile } from '../../../src/demo/gaussian.js'
import { normalCdf } from '../../../src/imaging/normal.js'
import { expectWithin } from '../../support/expect-within.js'

describe('gaussianCdf', () => {
  it('agrees with the other one of the house, which was made another way', () => {
    for (let z = -7.9; z <= 7.9; z += 0.037)
      expectWithin(gaussianCdf(z), normalCdf(z), { abs: 2e-10, unit: '', because: 'that one is tabled to 1e-10' })
  })

  it('is smooth where its two forms meet, and symmetric', () => {
    expectWithin(gaussianCdf(3 - 1e-12), gaussianCdf(3 + 1e-12), { abs: 1e-12, unit: '', because: 'slope times step' })
    expect(gaussianCdf(1.3) + gaussianCdf(-1.3)).toBeCloseTo(1, 14)
    expect(gaussianCdf(41)).toBe(1)
    expect(gaussianCdf(-41)).toBe(0)
  })
})

describe('gaussianQuantile', () => {
  it('turns gaussianCdf round', () => {
    for (const p of [1e-6, 0.0228, 0.1, 0.5, 0.9, 0.999]) expect(gaussianCdf(gaussianQuantile(p))).toBeCloseTo(p, 12)
  })

  it('refuses 0, 1 and NaN', () => {
    for (const p of [0, 1, Number.NaN]) expect(() => gaussianQuantile(p)).toThrow('between 0 and 1')
    expect(gaussianQuantile(1e-300)).toBeLessThan(-37)
  })
})

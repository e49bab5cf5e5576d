import { describe, expect, it } from 'vitest'
import { poissonInterval } from '../../../src/imaging/poisson-interval.js'

describe('poissonInterval', () => {
  it('has for none found the closed form -ln of the tail', () => {
    for (const coverage of [0.8, 0.95, 0.99])
      expect(poissonInterval(0, coverage).high).toBeCloseTo(-Math.log((1 - coverage) / 2), 9)
    expect(poissonInterval(0, 0.95).low).toBe(0)
  })

  it('holds large counts, where it is nearly the root of the count to either side', () => {
    const { low, high } = poissonInterval(10_000, 0.95)
    expect(low).toBeGreaterThan(10_000 - 1.97 * 100)
    expect(low).toBeLessThan(10_000 - 1.93 * 100)
    expect(high).toBeGreaterThan(10_000 + 1.95 * 100)
    expect(high).toBeLessThan(10_000 + 2 * 100)
  })

  it('refuses what is no count and no coverage', () => {
    for (const found of [-1, 1.5, Number.NaN]) expect(() => poissonInterval(found, 0.95)).toThrow(RangeError)
    for (const coverage of [0, 1, Number.NaN]) expect(() => poissonInterval(1, coverage)).toThrow(RangeError)
  })
})

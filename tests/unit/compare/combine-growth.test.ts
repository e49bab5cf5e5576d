import { describe, expect, it } from 'vitest'
import { combineGrowth, expandedOf } from '../../../src/compare/combine-growth.js'
import { seededRandom } from '../../../src/demo/random.js'

describe('combineGrowth', () => {
  it('refuses an empty list', () => {
    expect(() => combineGrowth([])).toThrow('at least one')
    expect(combineGrowth([{ value: 2, standard: 0.5 }])).toEqual({ value: 2, standard: 0.5 })
  })

  it('is not moved by one place in ten that is damaged', () => {
    const good = [3.0, 3.1, 2.9, 3.05, 2.95, 3.02, 2.98, 3.08, 2.92].map(value => ({ value, standard: 0.05 }))
    const { value } = combineGrowth([...good, { value: 60, standard: 0.05 }])
    expect(Math.abs(value - 3)).toBeLessThan(0.1)
  })

  it('places that agree by chance keep their own uncertainty', () => {
    const { standard } = combineGrowth(Array.from({ length: 4 }, () => ({ value: 1, standard: 0.6 })))
    expect(standard).toBeCloseTo(0.3, 10)
  })

  it('twice its standard uncertainty covers the truth 95 times in 100, of few places and of many', () => {
    const random = seededRandom(5)
    for (const n of [3, 7, 40]) {
      let covered = 0
      const trials = 250
      for (let i = 0; i < trials; i++) {
        const { value, standard } = combineGrowth(
          Array.from({ length: n }, () => ({ value: random.normal(), standard: 0.05 })),
        )
        if (Math.abs(value) <= 2 * standard) covered++
      }
      expect(covered / trials, `${n} places`).toBeGreaterThan(0.92)
      expect(covered / trials, `${n} places`).toBeLessThan(0.99)
    }
  })

  it('U is twice the root of the sum of squares', () => {
    expect(
      expandedOf([
        { name: 'a', standard: 3 },
        { name: 'b', standard: 4 },
      ]),
    ).toBe(10)
  })
})

import { describe, expect, it } from 'vitest'
import { theilSen } from '../../../src/trend/theil-sen.js'
import { gaussian } from '../../support/gaussian-series.js'

/** Sen, J. Am. Stat. Assoc. 63, 1379 (1968). */
const SEN = [1, 2, 3, 4, 10, 12, 18].map((x, i) => [x, [9, 15, 19, 20, 45, 55, 78][i]!] as const)

describe('theilSen', () => {
  it('has slope and intercept of the published example, and its two limits', () => {
    const { slope, intercept, interval } = theilSen(SEN, 0.95)
    expect(slope).toBeCloseTo(4, 12)
    expect(intercept).toBeCloseTo(6, 12)
    expect(interval!.lower).toBeCloseTo(26 / 7, 12)
    expect(interval!.upper).toBeCloseTo(35 / 8, 12)
  })

  it('holds the true slope as often as it says: 7 points allow 93.1 and 97.0 in 100', () => {
    const draw = gaussian(11)
    const held = { narrow: 0, wide: 0 }
    const times = 4000
    for (let i = 0; i < times; i++) {
      const points = SEN.map(([x]) => [x, 2 * x + draw()] as const)
      const narrow = theilSen(points, 0.93).interval!
      const wide = theilSen(points, 0.95).interval!
      if (narrow.lower < 2 && narrow.upper > 2) held.narrow++
      if (wide.lower < 2 && wide.upper > 2) held.wide++
    }
    // Three standard errors of 4000: 1.2 and 0.8 in 100.
    expect(Math.abs(held.narrow / times - 0.931)).toBeLessThan(0.012)
    expect(Math.abs(held.wide / times - 0.97)).toBeLessThan(0.008)
  })

  it('gives no interval where so few points allow none, and does not mind one wild point', () => {
    expect(
      theilSen([
        [0, 0],
        [1, 2],
      ]).interval,
    ).toBeNull()
    const points = Array.from({ length: 9 }, (_, i) => [i, 3 * i] as const)
    expect(theilSen([...points, [9, 500]]).slope).toBe(3)
  })

  it('refuses points that make no line', () => {
    expect(() => theilSen([[0, 1]])).toThrow('points must be 2 to 500; got 1')
    expect(() =>
      theilSen([
        [1, 1],
        [1, 2],
      ]),
    ).toThrow('two different x; got 1 only')
    expect(() =>
      theilSen([
        [1, 1],
        [2, Number.NaN],
      ]),
    ).toThrow('points must be finite; got (2, NaN)')
    expect(() =>
      theilSen(
        [
          [1, 1],
          [2, 2],
        ],
        1,
      ),
    ).toThrow('confidence must be between 0 and 1; got 1')
  })
})

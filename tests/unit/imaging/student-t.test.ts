import { describe, expect, it } from 'vitest'
import { studentT95 } from '../../../src/imaging/student-t.js'

describe('studentT95', () => {
  it('is the two-sided 95 % point of the tables', () => {
    // JCGM 100:2008, table G.2 (95.00 %), printed to two decimals; 1 and 2 degrees in closed form.
    expect(studentT95(1)).toBeCloseTo(Math.tan((0.95 * Math.PI) / 2), 6)
    expect(studentT95(2)).toBeCloseTo((0.95 * Math.SQRT2) / Math.sqrt(1 - 0.95 ** 2), 8)
    for (const [freedom, t] of [
      [3, 3.18],
      [5, 2.57],
      [8, 2.31],
      [10, 2.23],
      [20, 2.09],
      [50, 2.01],
    ] as const)
      expect(studentT95(freedom).toFixed(2)).toBe(t.toFixed(2))
    expect(studentT95(Number.POSITIVE_INFINITY)).toBeCloseTo(1.96, 4)
    expect(studentT95(99_999)).toBeCloseTo(1.95999, 4)
  })

  it('refuses fewer than one degree of freedom', () => {
    expect(() => studentT95(0)).toThrow(RangeError)
    expect(() => studentT95(Number.NaN)).toThrow(RangeError)
    expect(studentT95(1)).toBeGreaterThan(12)
  })
})

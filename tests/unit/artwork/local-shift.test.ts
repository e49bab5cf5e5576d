import { describe, expect, it } from 'vitest'
import { localShift } from '../../../src/artwork/local-shift.js'

const cells = (shift: (x: number, y: number) => number) =>
  Array.from({ length: 36 }, (_, i) => {
    const x = 10 + 20 * (i % 6)
    const y = 10 + 20 * Math.floor(i / 6)
    return { place: { column: 0, row: 0 }, x, y, acrossUm: shift(x, y), feedUm: null, n: 40 }
  })

describe('localShift', () => {
  it('follows a slow wander within a fifth of it, and is nothing where no direction tells', () => {
    const at = localShift({ residuals: cells((x, y) => 30 * Math.sin(x / 40) * Math.cos(y / 40)) })
    for (const [x, y] of [
      [30, 40],
      [61, 77],
      [90, 55],
    ] as const) {
      expect(Math.abs(1000 * at(x, y).across - 30 * Math.sin(x / 40) * Math.cos(y / 40))).toBeLessThan(6)
      expect(at(x, y).feed).toBe(0)
    }
  })

  it('is nothing without edges', () => {
    expect(localShift({ residuals: [] })(3, 4)).toEqual({ across: 0, feed: 0 })
  })
})

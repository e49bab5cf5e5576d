import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { integralImage } from '../../../src/imaging/integral-image.js'

describe('integralImage', () => {
  it('sums any rectangle as adding up does', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: -9, max: 9 }), { minLength: 20, maxLength: 20 }),
        fc.nat(4),
        fc.nat(3),
        (values, left, top) => {
          const width = 5 - left
          const height = 4 - top
          let sum = 0
          for (let r = top; r < top + height; r++) for (let c = left; c < left + width; c++) sum += values[r * 5 + c]!
          return integralImage(values, 5, 4).sum(left, top, width, height) === sum
        },
      ),
      { seed: 11 },
    )
  })

  it('sums marks of 0 and 1 alike in whole numbers', () => {
    const marks = Uint8Array.from({ length: 3000 }, (_, i) => (i % 7 === 0 ? 1 : 255))
    const [plain, whole] = [integralImage(Array.from(marks), 60, 50), integralImage(marks, 60, 50)]
    const rectangles: readonly [number, number, number, number][] = [
      [0, 0, 60, 50],
      [3, 4, 20, 30],
      [59, 49, 1, 1],
    ]
    for (const rectangle of rectangles) expect(whole.sum(...rectangle)).toBe(plain.sum(...rectangle))
  })

  it('refuses a wrong size', () => {
    expect(() => integralImage([1, 2, 3], 2, 2)).toThrow('values must have 4 entries; got 3')
  })
})

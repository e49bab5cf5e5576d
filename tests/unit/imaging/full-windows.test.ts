import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { fullWindows } from '../../../src/imaging/full-windows.js'

describe('fullWindows', () => {
  it('marks the first cell of every full window, as trying each does', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 0, max: 3 }), { minLength: 42, maxLength: 42 }),
        fc.integer({ min: 1, max: 3 }),
        fc.integer({ min: 1, max: 3 }),
        (cells, width, height) => {
          const marks = Uint8Array.from(cells, v => (v === 0 ? 0 : 1))
          const fits = fullWindows(marks, 7, 6, width, height)
          for (let r = 0; r < 6; r++)
            for (let c = 0; c < 7; c++) {
              let full = r + height <= 6 && c + width <= 7
              for (let i = r; full && i < r + height; i++)
                for (let j = c; j < c + width; j++) if (marks[i * 7 + j] === 0) full = false
              if ((fits[r * 7 + c] === 1) !== full) return false
            }
          return true
        },
      ),
      { seed: 3 },
    )
  })

  it('refuses a wrong size and a window of nothing', () => {
    expect(() => fullWindows(new Uint8Array(5), 2, 3, 1, 1)).toThrow('marks must have 6 entries; got 5')
    expect(() => fullWindows(new Uint8Array(6), 2, 3, 0, 1)).toThrow(
      'width must be a whole number of cells, 1 or more; got 0',
    )
    expect(() => fullWindows(new Uint8Array(6), 2, 3, 1, Number.NaN)).toThrow(RangeError)
  })
})

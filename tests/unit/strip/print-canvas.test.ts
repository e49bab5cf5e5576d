import { describe, expect, it } from 'vitest'
import { asBitmap, fillRect, layWords, printCanvas } from '../../../src/strip/print-canvas.js'

const DPI = { across: 720, along: 360 }

/** The canvas as rows of text. */
function rows({ width, height, rowBytes, bits }: ReturnType<typeof printCanvas>): string[] {
  return Array.from({ length: height }, (_, r) =>
    Array.from({ length: width }, (_, c) =>
      (bits[r * rowBytes + (c >> 3)]! & (0x80 >> (c & 7))) === 0 ? '.' : '#',
    ).join(''),
  )
}

describe('a raster to draw on', () => {
  it('takes ink and gives it back, within a byte and across bytes, and nothing beyond its edges', () => {
    const canvas = printCanvas(19, 4, DPI)
    fillRect(canvas, 2, 1, 3, 1)
    fillRect(canvas, 6, 2, 40, 40)
    fillRect(canvas, -5, -5, 6, 6)
    fillRect(canvas, 9, 3, 4, 1, false)
    fillRect(canvas, 19, 0, 5, 5)
    expect(rows(canvas)).toEqual([
      '#..................',
      '..###..............',
      '......#############',
      '......###....######',
    ])
  })

  it('counts its ink', () => {
    const canvas = printCanvas(10, 10, DPI)
    fillRect(canvas, 0, 0, 10, 3)
    const { inkShare, dpi, width, height } = asBitmap(canvas, 'a')
    expect(inkShare).toBeCloseTo(0.3, 12)
    expect([dpi, width, height]).toEqual([DPI, 10, 10])
  })

  it('lays letters of dots that need not be square', () => {
    const canvas = printCanvas(12, 7, DPI)
    const wide = layWords('T', 1, 0, { columns: 2, rows: 1 }, (c, r, w, h) => fillRect(canvas, c, r, w, h))
    expect(wide).toBe(12)
    expect(rows(canvas)).toEqual(['.##########.', ...Array(6).fill('.....##.....')])
  })
})

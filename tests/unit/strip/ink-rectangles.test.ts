import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { inkRectangles } from '../../../src/strip/ink-rectangles.js'
import { asBitmap, fillRect, printCanvas } from '../../../src/strip/print-canvas.js'

const DPI = { across: 720, along: 720 }

describe('the ink of a raster as rectangles', () => {
  it('makes one of a block, and three of a cross', () => {
    const canvas = printCanvas(40, 20, DPI)
    fillRect(canvas, 3, 4, 20, 8)
    expect(inkRectangles(asBitmap(canvas, 'a'))).toEqual([{ column: 3, row: 4, width: 20, height: 8 }])
    const cross = printCanvas(9, 9, DPI)
    fillRect(cross, 4, 0, 1, 9)
    fillRect(cross, 0, 4, 9, 1)
    expect(inkRectangles(asBitmap(cross, 'a'))).toHaveLength(3)
    expect(inkRectangles(asBitmap(printCanvas(9, 9, DPI), 'a'))).toEqual([])
  })

  it('is the raster again when it is drawn, and no pixel is drawn twice', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 35 }),
        fc.array(fc.tuple(fc.nat(34), fc.nat(11), fc.nat(34), fc.nat(11), fc.boolean()), { maxLength: 12 }),
        (width, rects) => {
          const canvas = printCanvas(width, 12, DPI)
          for (const [c, r, w, h, ink] of rects) fillRect(canvas, c, r, w, h, ink)
          const drawn = printCanvas(width, 12, DPI)
          let area = 0
          for (const r of inkRectangles(asBitmap(canvas, 'a'))) {
            fillRect(drawn, r.column, r.row, r.width, r.height)
            area += r.width * r.height
          }
          expect(drawn.bits).toEqual(canvas.bits)
          expect(area).toBe(Math.round(asBitmap(canvas, 'a').inkShare * width * 12))
        },
      ),
      { numRuns: 150, seed: 11 },
    )
  })
})

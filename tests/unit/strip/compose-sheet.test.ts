import { describe, expect, it } from 'vitest'
import type { ArtworkBitmap } from '../../../src/model/artwork.js'
import type { StripIdentity } from '../../../src/model/strip.js'
import { composeSheet, type Sheet, wordsWidth } from '../../../src/strip/compose-sheet.js'
import { drawStrip, USUAL_SCREEN } from '../../../src/strip/draw-strip.js'

const DPI = { across: 360, along: 360 }
const IDENTITY: StripIdentity = {
  positive: 'pier-sign',
  jobType: 'bold',
  dpi: DPI,
  form: 'short',
  laid: 'feed',
  tints: 'grey',
}

function inkAt({ bits, rowBytes }: ArtworkBitmap, column: number, row: number): boolean {
  return (bits[row * rowBytes + (column >> 3)]! & (0x80 >> (column & 7))) !== 0
}

describe('a sheet of strips', () => {
  const one = drawStrip(IDENTITY, USUAL_SCREEN)
  const two = drawStrip({ ...IDENTITY, positive: 'pier-sign-2' }, USUAL_SCREEN)
  const sheet: Sheet = {
    widthMm: 60,
    heightMm: 90,
    dpi: DPI,
    strips: [
      { drawing: one, u: 5, v: 12 },
      { drawing: two, u: 27.3, v: 12.4 },
    ],
    words: [{ words: 'Print at mode fine', u: 5, v: 3, letterMm: 2 }],
  }

  it('holds each strip pixel for pixel, its greys too', () => {
    const { bitmap, greys } = composeSheet(sheet)
    for (const [drawing, column, row] of [
      [one, Math.round((5 * 360) / 25.4), Math.round((12 * 360) / 25.4)],
      [two, Math.round((27.3 * 360) / 25.4), Math.round((12.4 * 360) / 25.4)],
    ] as const) {
      let other = 0
      for (let r = 0; r < drawing.bitmap.height; r++)
        for (let c = 0; c < drawing.bitmap.width; c++)
          if (inkAt(bitmap, column + c, row + r) !== inkAt(drawing.bitmap, c, r)) other++
      expect(other).toBe(0)
    }
    expect(greys).toHaveLength(one.greys.length + two.greys.length)
    expect(greys[0]!.column - one.greys[0]!.column).toBe(71)
  })

  it('has its words where they were asked for, as wide as told', () => {
    const { bitmap } = composeSheet({ ...sheet, strips: [] })
    const columns: number[] = []
    for (let r = 0; r < bitmap.height; r++)
      for (let c = 0; c < bitmap.width; c++) if (inkAt(bitmap, c, r)) columns.push(c)
    const width = wordsWidth('Print at mode fine', 2)
    expect(Math.min(...columns)).toBe(71)
    expect(((Math.max(...columns) - 71) * 25.4) / 360).toBeLessThan(width)
    expect(((Math.max(...columns) - 71) * 25.4) / 360).toBeGreaterThan(width - 1)
  })

  it('refuses what would be printed over something, cut off, or of another size', () => {
    const at = (u: number, v: number) => ({
      ...sheet,
      strips: [
        { drawing: one, u: 5, v: 12 },
        { drawing: two, u, v },
      ],
    })
    expect(() => composeSheet(at(19, 12))).toThrow(/strip 2 must not lie on/)
    expect(() => composeSheet(at(46, 12))).toThrow(/strip 2 must lie on the sheet/)
    expect(() => composeSheet(at(27, 4))).toThrow(/"Print at mode fine" must not lie on/)
    expect(() => composeSheet({ ...sheet, dpi: { across: 360, along: 720 } })).toThrow(/resolution/)
  })
})

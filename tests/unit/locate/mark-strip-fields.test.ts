import { describe, expect, it } from 'vitest'
import type { LocatedScan } from '../../../src/locate/locate-scan.js'
import { markStripFields } from '../../../src/locate/mark-strip-fields.js'
import { stripLayout } from '../../../src/strip/strip-layout.js'

/** An overview of so many blocks of 4 pixels; nothing on it is looked at. */
function overview(columns: number, rows: number): LocatedScan['overview'] {
  const light = new Float32Array(columns * rows)
  const codes = new Uint16Array(columns * rows)
  return {
    columns,
    rows,
    blockPx: 4,
    scanWidth: 4 * columns,
    scanHeight: 4 * rows,
    light,
    least: codes,
    greatest: codes,
  } as LocatedScan['overview']
}

describe('markStripFields', () => {
  it('marks tints, lines, codes and words, and leaves solids, marks and clear film to be looked at', () => {
    // 24 pixels a millimetre: 6 blocks.
    const view = overview(450, 120)
    const marks = new Uint8Array(450 * 120)
    const map = { x0: 24, y0: 24, xx: 24, yx: 0, xy: 0, yy: 24 }
    markStripFields(
      {
        strips: [{ form: 'short', mirrored: false, likeness: 1, map, gainUm: { x: 0, y: 0 }, corners: [] }],
        overview: view,
      },
      marks,
    )
    for (const field of stripLayout('short', 'head', null).fields) {
      const rect = field.kind === 'line' ? field.plate : field.rect
      const column = Math.floor((1 + rect.x + rect.width / 2) * 6)
      const row = Math.floor((1 + rect.y + rect.height / 2) * 6)
      const fine = !['mark', 'rail', 'solid', 'clear'].includes(field.kind)
      expect(marks[row * 450 + column], `${field.kind} at ${rect.x}`).toBe(fine ? 1 : 0)
    }
  })

  it('leaves the rest of the page as it was, and marks what is in view of a strip that leaves it', () => {
    const view = overview(60, 60)
    const marks = new Uint8Array(3600)
    marks[3599] = 1
    markStripFields({ strips: [], overview: view }, marks)
    expect(marks.reduce((sum, m) => sum + m, 0)).toBe(1)
    // The strip turned by a half, its first code at the lower right corner of the view.
    const map = { x0: 300, y0: 300, xx: -24, yx: 0, xy: 0, yy: -24 }
    markStripFields(
      {
        strips: [{ form: 'short', mirrored: false, likeness: 1, map, gainUm: { x: 0, y: 0 }, corners: [] }],
        overview: view,
      },
      marks,
    )
    expect(marks[50 * 60 + 50]).toBe(1)
    expect(marks[0]).toBe(1)
  })
})

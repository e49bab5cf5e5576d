import { describe, expect, it } from 'vitest'
import { inkLevel } from '../../../src/locate/ink-level.js'
import { lightLines } from '../../../src/locate/light-lines.js'
import { locateScan } from '../../../src/locate/locate-scan.js'
import { paintedScan } from '../../support/bare-scan.js'

const CLEAR = 0.87
const BLACK = 0.001

/** Lines in a solid of 240 x 160 pixels at 600 dpi on clear film; light of each pixel from a rule, null where there is ink. */
function linesOf(open: (c: number, r: number) => number | null) {
  const scan = paintedScan(400, 320, (c, r) =>
    c >= 80 && c < 320 && r >= 80 && r < 240 ? (open(c, r) ?? BLACK) : CLEAR,
  )
  const { overview, regions } = locateScan(scan)
  return lightLines(overview, regions, inkLevel(overview, regions), CLEAR - BLACK, scan.umPerPixel)
}

/** Share of a pixel that a line of so many pixels' width about a height covers. */
const covered = (r: number, middle: number, width: number) =>
  Math.max(0, Math.min(r + 0.5, middle + width / 2) - Math.max(r - 0.5, middle - width / 2))

describe('lightLines', () => {
  it('sizes a line far thinner than a block by the light it lets through', () => {
    // 0.3 pixels (12.7 um) of 100 (4.233 mm), in blocks of four pixels.
    const lines = linesOf((c, r) =>
      c >= 150 && c < 250 && covered(r, 160.2, 0.3) > 0 ? BLACK + (CLEAR - BLACK) * covered(r, 160.2, 0.3) : null,
    )
    expect(lines).toHaveLength(1)
    const [line] = lines
    expect(Math.abs(line!.openMm2 / (0.0127 * 4.233) - 1)).toBeLessThan(0.03)
    // Its ends are told to a block.
    expect(Math.abs(line!.lengthMm - 4.233)).toBeLessThan(0.18)
    expect(line!.endsInClear).toBe(0)
    expect(Math.abs(line!.from.row - 160)).toBeLessThan(2)
    expect(line!.blocks.length).toBeGreaterThan(20)
  })

  it('tells a line from edge to edge, one that slants, and how even they are', () => {
    const across = linesOf((_, r) => (r === 160 ? CLEAR : null))[0]!
    expect(across.endsInClear).toBe(2)
    expect(across.uneven).toBeLessThan(0.02)
    expect(across.solids.length).toBeGreaterThan(0)
    const slant = linesOf((c, r) => (c > 130 && c < 260 && Math.abs(r - 110 - 0.5 * (c - 130)) < 0.7 ? CLEAR : null))
    const turn = Math.atan2(slant[0]!.to.row - slant[0]!.from.row, slant[0]!.to.column - slant[0]!.from.column)
    expect(Math.abs(Math.tan(turn) - 0.5)).toBeLessThan(0.03)
    const faint = linesOf((c, r) => (c >= 120 && c < 280 && r === 160 ? (c < 200 ? CLEAR : 0.3 * CLEAR) : null))[0]!
    expect(faint.uneven).toBeGreaterThan(0.3)
  })

  it('finds a faint one from 0.7 mm on, where no artwork leaves such light open, and no shorter one', () => {
    // 0.1 pixel (4 um) of 24 pixels (1.02 mm) and of 12.
    const faint = (to: number) =>
      linesOf((c, r) => (c >= 160 && c < to && r === 160 ? BLACK + 0.1 * (CLEAR - BLACK) : null))
    expect(faint(184)).toHaveLength(1)
    expect(Math.abs(faint(184)[0]!.openMm2 / (0.00423 * 1.016) - 1)).toBeLessThan(0.05)
    expect(faint(172)).toEqual([])
  })

  it('takes neither a wide gap, nor a short one, nor letters left open in ink for a line', () => {
    expect(linesOf((_, r) => (r >= 150 && r < 175 ? CLEAR : null))).toEqual([])
    expect(linesOf((c, r) => (r === 160 && c >= 190 && c < 215 ? CLEAR : null))).toEqual([])
    // Strokes of two pixels, 14 high, 8 apart, on a foot of one pixel.
    const word = linesOf((c, r) =>
      c >= 120 && c < 280 && r >= 150 && r < 165 && (r === 164 || c % 8 < 2) ? CLEAR : null,
    )
    expect(word).toEqual([])
  })
})

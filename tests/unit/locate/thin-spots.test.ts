import { describe, expect, it } from 'vitest'
import { inkLevel } from '../../../src/locate/ink-level.js'
import { locateScan } from '../../../src/locate/locate-scan.js'
import { thinSpots } from '../../../src/locate/thin-spots.js'
import { paintedScan } from '../../support/bare-scan.js'

const CLEAR = 0.87
const BLACK = 0.004

function thinOf(light: (c: number, r: number) => number | null) {
  const scan = paintedScan(400, 320, (c, r) =>
    c >= 80 && c < 320 && r >= 80 && r < 240 ? (light(c, r) ?? BLACK) : CLEAR,
  )
  const { overview, regions } = locateScan(scan)
  return thinSpots(overview, regions, inkLevel(overview, regions), CLEAR - BLACK)
}
const square = (c: number, r: number, side: number) => c >= 160 && c < 160 + side && r >= 120 && r < 120 + side

describe('thinSpots', () => {
  it('finds what is 0.15 D thinner than its solid and no less, and sums its light', () => {
    const found = thinOf((c, r) => (square(c, r, 24) ? 0.02 : null))
    expect(found).toHaveLength(1)
    // 36 blocks of four pixels, each with so much more light than the solid.
    expect(Math.abs(found[0]!.open - (36 * 0.016) / (CLEAR - BLACK))).toBeLessThan(0.02)
    expect(found[0]!.cells).toBe(36)
    // Scatter of the solid and noise keep the least below a fifth more: 1.41 times is 0.15 D.
    expect(thinOf((c, r) => (square(c, r, 24) ? 1.6 * BLACK : null))).toHaveLength(1)
    expect(thinOf((c, r) => (square(c, r, 24) ? 1.3 * BLACK : null))).toEqual([])
  })

  it('leaves single blocks and the soft rim of a solid', () => {
    expect(thinOf((c, r) => (square(c, r, 4) ? 0.02 : null))).toEqual([])
    expect(thinOf(c => (c >= 300 ? BLACK + (0.03 * (c - 300)) / 20 : null))).toEqual([])
  })
})

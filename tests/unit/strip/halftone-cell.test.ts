import { describe, expect, it } from 'vitest'
import { dotOrder, type HalftoneCell, halftoneCell } from '../../../src/strip/halftone-cell.js'

function shareOf(cell: HalftoneCell, percent: number): number {
  const rank = dotOrder(cell)
  const inked = Math.round((percent / 100) * cell.pixels)
  const side = 300
  let ink = 0
  for (let r = -side / 2; r < side / 2; r++) for (let c = -side / 2; c < side / 2; c++) if (rank(c, r) < inked) ink++
  return (100 * ink) / side ** 2
}

describe('a screen on whole printer pixels', () => {
  it.each([
    [55, 22.5, 1440, 1440],
    [55, 22.5, 1440, 720],
    [45, 52.5, 720, 1440],
    [65, 7.5, 720, 720],
    [35, 0, 360, 360],
    [60, 45, 2880, 1440],
    [50, 67.5, 1200, 600],
  ])(
    '%d lines/in at %d degrees on %d x %d dpi comes near, and both its directions agree',
    (ruling, angle, across, along) => {
      const cell = halftoneCell({ ruling, angle }, { across, along })
      expect(Math.abs(cell.screen.ruling - ruling)).toBeLessThan(0.2)
      expect(Math.abs(cell.screen.angle - angle)).toBeLessThan(0.1)
      expect(cell.pixels).toBeGreaterThanOrEqual(2000)
      // The area of the tile is what its dots at that ruling take: no shear is hidden in the mean of two sides.
      const square = (cell.dots / cell.screen.ruling) ** 2 * across * along
      expect(cell.pixels / square).toBeCloseTo(1, 2)
    },
  )

  it('inks every pixel of the tile once: ranks are 0 to pixels - 1', () => {
    const cell = halftoneCell({ ruling: 55, angle: 22.5 }, { across: 720, along: 360 })
    const rank = dotOrder(cell)
    const seen = new Set<number>()
    for (let r = 0; r < 400; r++) for (let c = 0; c < 400; c++) seen.add(rank(c, r))
    expect(seen.size).toBe(cell.pixels)
    expect(Math.max(...seen)).toBe(cell.pixels - 1)
    expect(Math.min(...seen)).toBe(0)
  })

  it('repeats without seam along both sides of the tile', () => {
    const cell = halftoneCell({ ruling: 45, angle: 22.5 }, { across: 720, along: 720 })
    const rank = dotOrder(cell)
    for (const [c, r] of [
      [0, 0],
      [-37, 12],
      [155, -90],
    ] as const)
      for (const side of [cell.first, cell.second]) expect(rank(c + side.columns, r + side.rows)).toBe(rank(c, r))
  })

  it('lays the share of ink that is asked for', () => {
    const cell = halftoneCell({ ruling: 55, angle: 22.5 }, { across: 720, along: 720 })
    for (const percent of [5, 20, 50, 75, 95]) expect(shareOf(cell, percent)).toBeCloseTo(percent, 0)
  })

  it('refuses a ruling of less than three printer pixels a dot', () => {
    const at = (ruling: number) => () => halftoneCell({ ruling, angle: 22.5 }, { across: 720, along: 300 })
    expect(at(100)).not.toThrow()
    expect(at(100.5)).toThrow('STRIP_RULING_TOO_FINE')
  })
})

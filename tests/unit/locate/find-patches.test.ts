import { describe, expect, it } from 'vitest'
import { filmCorners } from '../../../src/locate/film-corners.js'
import { locateScan } from '../../../src/locate/locate-scan.js'
import { paintedScan } from '../../support/bare-scan.js'

const CLEAR = 10 ** -0.05
const box = (c: number, r: number, x: number, y: number, w: number, h: number) =>
  c >= x && c < x + w && r >= y && r < y + h

describe('locateScan', () => {
  // 600 dpi: a millimetre is 23.6 pixels.
  const located = locateScan(
    paintedScan(700, 600, (c, r) => {
      if (!box(c, r, 40, 40, 620, 520)) return 1
      if (box(c, r, 100, 100, 200, 150)) return box(c, r, 110, 110, 4, 4) ? CLEAR : 0.001
      if (box(c, r, 400, 100, 60, 60)) return 0.004
      if (box(c, r, 400, 300, 30, 30)) return 0.001
      if (box(c, r, 100, 350, 180, 3)) return 0.001
      return CLEAR
    }),
  )
  const { solids, lightest, bases } = located.patches

  it('reads 1 mm squares inside solids, clear of their edges by 0.3 mm; smaller ink is no solid', () => {
    expect(new Set(solids.map(p => p.area)).size).toBe(2)
    for (const { rect } of solids) {
      expect(rect.width).toBe(24)
      const inBig = box(rect.column, rect.row, 106, 106, 188 - 23, 138 - 23)
      const inSmall = box(rect.column, rect.row, 406, 106, 48 - 23, 48 - 23)
      expect(inBig || inSmall).toBe(true)
    }
  })

  it('keeps clear of a pinhole', () => {
    for (const { rect } of solids) expect(rect.column > 114 || rect.row > 114 || rect.column + 24 < 110).toBe(true)
  })

  it('offers the lightest place of every solid', () => {
    expect(lightest.map(p => p.area).sort()).toEqual([1, 2])
  })

  it('reads base on film only, a millimetre from its rim', () => {
    expect(bases.length).toBeGreaterThan(10)
    for (const { rect } of bases) {
      expect(box(rect.column, rect.row, 40 + 23, 40 + 23, 620 - 46 - 23, 520 - 46 - 23)).toBe(true)
      expect(box(rect.column + 12, rect.row + 12, 93, 93, 214, 164)).toBe(false)
    }
  })

  it('finds straight edges of the big solid in both directions, none of the film, the hair-line or the pinhole', () => {
    expect(located.edges.length).toBe(4)
    for (const edge of located.edges)
      for (const p of [edge.from, edge.to]) expect(box(p.column, p.row, 95, 95, 210, 160)).toBe(true)
    expect(located.edges.filter(e => e.direction === 'across').length).toBe(2)
  })

  it('outlines the film', () => {
    const corners = filmCorners(located.overview, located.regions)!
    const wanted = [
      [40, 40],
      [660, 40],
      [660, 560],
      [40, 560],
    ]
    corners.forEach((corner, i) => {
      expect(Math.abs(corner.column - wanted[i]![0]!)).toBeLessThan(6)
      expect(Math.abs(corner.row - wanted[i]![1]!)).toBeLessThan(6)
    })
  })
})

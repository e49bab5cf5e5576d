import { expect, it } from 'vitest'
import { inkLevel } from '../../../src/locate/ink-level.js'
import { locateScan } from '../../../src/locate/locate-scan.js'
import { paintedScan } from '../../support/bare-scan.js'

const levelOf = (light: (c: number, r: number) => number) => {
  const { overview, regions } = locateScan(paintedScan(400, 240, light, { noise: 0 }))
  return { ...inkLevel(overview, regions), overview }
}
const inside = (c: number, x: number, r: number) => c >= x && c < x + 100 && r >= 60 && r < 180

it('tells each solid’s own light as most of its blocks show it, whatever a thin part of it lets through', () => {
  const ink = levelOf((c, r) => {
    if (inside(c, 40, r)) return c < 60 && r < 80 ? 0.02 : 0.001
    return inside(c, 240, r) ? 0.004 : 0.87
  })
  const at = (column: number, row: number) =>
    ink.area[Math.floor(row / ink.overview.blockPx) * ink.overview.columns + Math.floor(column / ink.overview.blockPx)]!
  const [one, other] = [at(100, 120), at(300, 120)]
  expect(one).not.toBe(other)
  expect(at(200, 120)).toBe(0)
  // Codes are whole: 60 of 60000.
  expect(Math.abs(ink.light[one]! - 0.001)).toBeLessThan(1e-5)
  expect(Math.abs(ink.light[other]! - 0.004)).toBeLessThan(1e-5)
  expect(Math.abs(ink.middle! - 0.0025)).toBeLessThan(1e-5)
  expect(ink.scatter[other]!).toBeLessThan(1e-6)
})

it('says that there is none where there is no solid', () => {
  expect(levelOf(() => 0.87).middle).toBeNull()
})

import { describe, expect, it } from 'vitest'
import { filmToPixel, scanSize } from '../../../src/demo/scanner.js'
import { demoWeeks, NEW_HEAD_DAYS_BEFORE } from '../../../src/demo/shop-weeks.js'

const scans = demoWeeks('2026-03-20')
const of = (name: string) => scans.filter(scan => scan.sidecar?.positive === name)

describe('demoWeeks', () => {
  it('has each positive in the order it was scanned, under names of its own, within the five weeks', () => {
    expect(new Set(scans.map(scan => scan.id)).size).toBe(scans.length)
    expect(new Set(scans.map(scan => scan.fileName)).size).toBe(scans.length)
    for (const name of ['printer-2-check', 'quay-tag']) {
      const days = of(name).map(scan => scan.scannedAt)
      expect(days).toEqual([...days].sort())
      expect(days[0]! > '2026-02-13T09').toBe(true)
      expect(days.at(-1)! < '2026-03-21').toBe(true)
    }
  })

  it('prints steadily on at least as many films as limits need, and thinner on every film after the head was changed', () => {
    const headAt = Date.parse('2026-03-20T00:00:00Z') - NEW_HEAD_DAYS_BEFORE * 86_400_000
    const [before, after] = [true, false].map(earlier =>
      of('printer-2-check')
        .filter(scan => Date.parse(`${scan.scannedAt}Z`) < headAt === earlier)
        .map(scan => scan.truth!.solidDensity),
    ) as [number[], number[]]
    expect(before.length).toBeGreaterThanOrEqual(8)
    expect(after.length).toBeGreaterThanOrEqual(3)
    expect(Math.max(...before) - Math.min(...before)).toBeLessThan(0.03)
    expect(Math.min(...before) - Math.max(...after)).toBeGreaterThan(0.08)
    // Thinner, but no film fails for it: 3.0 is the shipped limit.
    expect(Math.min(...after)).toBeGreaterThan(3.2)
  })

  it('lets the tag creep evenly in sigma squared', () => {
    const squares = of('quay-tag').map(scan => scan.truth!.inkSpreadUm ** 2)
    const steps = squares.slice(1).map((square, i) => square - squares[i]!)
    for (const step of steps) expect(step).toBeCloseTo(6.9 * 11, 6)
  })

  it('lays every film on its bed with a millimetre of open light round it', () => {
    for (const { scan, id } of scans) {
      const { width, height, pitchUm } = scanSize(scan)
      const margin = 1000 / pitchUm.across
      for (const u of [0, scan.film.widthMm])
        for (const v of [0, scan.film.heightMm]) {
          const { column, row } = filmToPixel(scan, u, v)
          expect(Math.min(column, row, width - column, height - row), id).toBeGreaterThan(margin)
        }
    }
  })
})

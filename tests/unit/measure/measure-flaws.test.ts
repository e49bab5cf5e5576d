import { describe, expect, it } from 'vitest'
import { findFlaws } from '../../../src/locate/find-flaws.js'
import { locateScan } from '../../../src/locate/locate-scan.js'
import { measureFlaws } from '../../../src/measure/measure-flaws.js'
import type { MeasuredFlaws } from '../../../src/model/flaw.js'
import type { FlawPlaces } from '../../../src/model/located.js'
import { paintedScan } from '../../support/bare-scan.js'

const CLEAR = 0.87
const BLACK = 0.001
const UM = 25_400 / 600

/** Share of a pixel within a disc, by sixteen points a side. */
function disc(c: number, r: number, x: number, y: number, radius: number): number {
  if (Math.hypot(c - x, r - y) > radius + 1) return 0
  let inside = 0
  for (let i = 0; i < 256; i++)
    if (Math.hypot(c + ((i % 16) + 0.5) / 16 - 0.5 - x, r + ((i >> 4) + 0.5) / 16 - 0.5 - y) <= radius) inside++
  return inside / 256
}

/** Film of 440 pixels in an open bed with a solid on it, light changed by a rule: share of what is there that is changed for the other. */
function measured(
  change: (c: number, r: number) => number,
  dark = BLACK,
  edit: (places: FlawPlaces) => FlawPlaces = p => p,
) {
  const scan = paintedScan(520, 520, (c, r) => {
    if (c < 40 || r < 40 || c >= 480 || r >= 480) return 1
    const ink = c >= 100 && c < 300 && r >= 100 && r < 260
    const share = change(c, r)
    return ink ? BLACK + share * (CLEAR - BLACK) : CLEAR - share * (CLEAR - dark)
  })
  const places = findFlaws(locateScan(scan))
  if ('because' in places) return expect.fail(places.because)
  return measureFlaws(scan.scan, scan.umPerPixel, scan.light.lineSpread, edit(places))
}

const only = (flaws: MeasuredFlaws) => {
  expect(flaws.list).toHaveLength(1)
  return flaws.list[0]!
}

describe('measureFlaws', () => {
  it('sizes holes and specks by their area, with place on scan and film, and counts them', () => {
    const hole = only(measured((c, r) => disc(c, r, 180.3, 170.6, 2.4)))
    expect(hole.kind).toBe('pinhole')
    expect(Math.abs(hole.diameterUm - 4.8 * UM)).toBeLessThan(0.02 * 4.8 * UM)
    expect(Math.abs(hole.diameterUm - 4.8 * UM)).toBeLessThanOrEqual(hole.expandedUm)
    expect(Math.hypot(hole.place.column - 180.3, hole.place.row - 170.6)).toBeLessThan(0.1)
    // Edges of the film lie between pixels 39 and 40; its corners are told from blocks of four pixels.
    expect(Math.abs(hole.filmMm!.x - (140.8 * UM) / 1000)).toBeLessThan(0.2)
    expect(Math.abs(hole.leakedMm2 - Math.PI * ((2.4 * UM) / 1000) ** 2)).toBeLessThan(0.03 * hole.leakedMm2)
    const flaws = measured((c, r) => disc(c, r, 380, 380, 4))
    expect(only(flaws)).toMatchObject({ kind: 'speck', possibleDust: false, members: 1 })
    expect(flaws.counts).toMatchObject({ speck: 1, pinhole: 0 })
    expect(flaws.rates.dark!.found).toBe(1)
    expect(Math.abs(flaws.rates.dark!.perDm2 - 10_000 / flaws.inspectedMm2.clear)).toBeLessThan(1e-6)
  })

  it('counts none below one and a half pixels of diameter', () => {
    expect(measured((c, r) => disc(c, r, 180, 170, 0.7)).list).toEqual([])
    expect(only(measured((c, r) => disc(c, r, 180, 170, 0.85))).kind).toBe('pinhole')
  })

  it('says that a speck which lets light through may be dust, and a hair always', () => {
    expect(only(measured((c, r) => disc(c, r, 380, 380, 5), 0.35)).possibleDust).toBe(true)
    const hair = only(
      measured((c, r) => (c > 340 && c < 420 && Math.abs(r - 370 - 14 * Math.sin((c - 340) / 18)) < 1.2 ? 1 : 0)),
    )
    expect(hair).toMatchObject({ kind: 'hair', possibleDust: true })
    expect(hair.lengthMm!).toBeGreaterThan(80 * (UM / 1000))
  })

  it('gives a scratch its length and its width', () => {
    const scratch = only(
      measured((c, r) => (c > 130 && c < 260 && Math.abs(r - 130 - 0.6 * (c - 130)) < 1.166 ? 1 : 0)),
    )
    expect(scratch.kind).toBe('scratch')
    const lengthMm = (130 * Math.hypot(1, 0.6) * UM) / 1000
    expect(Math.abs(scratch.lengthMm! - lengthMm)).toBeLessThan(0.1 * lengthMm)
    // 2.33 pixels down a column are 2 across the line.
    expect(Math.abs(scratch.widthUm! - 2 * UM)).toBeLessThan(0.15 * 2 * UM)
  })

  it('measures the largest only, counts candidates and tells no rate where there are more than any film has', () => {
    const flaws = measured(
      (c, r) => disc(c, r, 180, 170, 3),
      BLACK,
      places => ({ ...places, overflow: true }),
    )
    expect(flaws).toMatchObject({ tooMany: true, rates: { light: null, dark: null } })
    expect(flaws.counts.pinhole).toBe(1)
  })
})

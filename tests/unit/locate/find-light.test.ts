import { describe, expect, it } from 'vitest'
import { blockOverview } from '../../../src/imaging/block-overview.js'
import { BASE, findLight, HOLDER, OPEN_LIGHT, SOLID } from '../../../src/locate/find-light.js'
import { paintedScan } from '../../support/bare-scan.js'

const CLEAR = 10 ** -0.06
const BLACK = 10 ** -3
const box = (c: number, r: number, x: number, y: number, w: number, h: number) =>
  c >= x && c < x + w && r >= y && r < y + h

function look(light: (c: number, r: number) => number, calibrated = true) {
  const scan = paintedScan(480, 480, light, { noise: 60 })
  const overview = blockOverview(scan.scan, 4, scan.light.transmittance)
  const regions = findLight(overview, scan.light.transmittance, calibrated)
  return { regions, at: (c: number, r: number) => regions.labels[(r >> 2) * overview.columns + (c >> 2)] }
}

describe('findLight', () => {
  const film = (c: number, r: number) => {
    if (c < 30) return 0
    if (!box(c, r, 60, 40, 380, 400)) return 1
    if (box(c, r, 120, 100, 80, 80)) return BLACK
    // A tint of 60 % at some 60 lines an inch, 10 pixels a period.
    if (box(c, r, 280, 100, 120, 120)) return (c % 10) + (r % 10) < 9 ? CLEAR : BLACK
    return CLEAR
  }

  it('tells open light, holder, base, solid and tint apart', () => {
    const { regions, at } = look(film)
    expect(regions.openLight).toBeCloseTo(1, 3)
    expect(regions.base).toBeCloseTo(CLEAR, 3)
    expect(at(10, 200)).toBe(HOLDER)
    expect(at(45, 200)).toBe(OPEN_LIGHT)
    expect(at(80, 300)).toBe(BASE)
    expect(at(160, 140)).toBe(SOLID)
    expect(at(340, 160)).not.toBe(SOLID)
    // Clear gaps of a coarse tint may look like base, but no 1.6 mm window of them does.
    let clear = 0
    for (let r = 104; r < 216; r += 4) for (let c = 284; c < 396; c += 4) if (at(c, r) === BASE) clear++
    expect(clear).toBeLessThan(400)
    expect(regions.film[50 * 120 + 2]).toBe(0)
    expect(regions.film[75 * 120 + 20]).toBe(1)
  })

  it('does the same of a scan without calibration, from the two brightest levels', () => {
    const { regions, at } = look((c, r) => film(c, r) * 0.7, false)
    expect(regions.openLight).toBeCloseTo(0.7, 3)
    expect(at(80, 300)).toBe(BASE)
    expect(at(10, 200)).toBe(HOLDER)
  })

  it('with film all over, the brightest level is base, not open light', () => {
    const { regions, at } = look((c, r) => (box(c, r, 120, 100, 80, 80) ? BLACK : CLEAR))
    expect(regions.openLight).toBeNull()
    expect(regions.base).toBeCloseTo(CLEAR, 3)
    expect(at(160, 140)).toBe(SOLID)
  })

  it('an opaque card on the bare glass is no solid', () => {
    const { at } = look((c, r) => (box(c, r, 300, 300, 100, 100) ? 0 : box(c, r, 60, 40, 150, 150) ? CLEAR : 1))
    expect(at(350, 350)).toBe(HOLDER)
    expect(at(100, 100)).toBe(BASE)
  })

  it('a thin solid is still a solid, however light the ink (D 0.7)', () => {
    const { at } = look((c, r) => (box(c, r, 120, 100, 80, 80) ? 10 ** -0.7 : box(c, r, 60, 40, 380, 400) ? CLEAR : 1))
    expect(at(160, 140)).toBe(SOLID)
  })

  it('open light only, and a page dark all over, hold no base', () => {
    expect(look(() => 1).regions).toMatchObject({ base: null })
    const dark = look(() => 0.0005)
    expect(dark.regions).toMatchObject({ base: null, openLight: null })
    expect(dark.at(100, 100)).toBe(HOLDER)
  })

  it('says how much of the clear film is clipped', () => {
    const { regions } = look((c, r) => (box(c, r, 60, 40, 380, 400) ? 1.2 : 0.001), false)
    expect(regions.clippedShare).toBeGreaterThan(0.9)
    expect(look(film).regions.clippedShare).toBe(0)
  })
})

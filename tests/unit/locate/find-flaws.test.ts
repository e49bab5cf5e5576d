import { describe, expect, it } from 'vitest'
import { findFlaws } from '../../../src/locate/find-flaws.js'
import { locateScan } from '../../../src/locate/locate-scan.js'
import { measureFlaws } from '../../../src/measure/measure-flaws.js'
import { paintedScan } from '../../support/bare-scan.js'

const CLEAR = 0.87
const BLACK = 0.001
const box = (c: number, r: number, x: number, y: number, w: number, h: number) =>
  c >= x && c < x + w && r >= y && r < y + h
const disc = (c: number, r: number, x: number, y: number, radius: number) => (c - x) ** 2 + (r - y) ** 2 <= radius ** 2

const look = (light: (c: number, r: number) => number, side = 520, noise = 60) =>
  findFlaws(locateScan(paintedScan(side, side, light, { noise })))

const kindsOf = (light: (c: number, r: number) => number) => {
  const places = look(light)
  if ('because' in places) return expect.fail(places.because)
  return places.candidates.map(c => c.kind).sort()
}

/** Film of 440 pixels in an open bed, a solid of 200 x 160 on it. */
const film =
  (more: (c: number, r: number) => number | null) =>
  (c: number, r: number): number => {
    if (!box(c, r, 40, 40, 440, 440)) return 1
    return more(c, r) ?? (box(c, r, 100, 100, 200, 160) ? BLACK : CLEAR)
  }

describe('findFlaws', () => {
  it('finds a hole in ink, a spot in clear film and a scratch through ink, and nothing on a clean film', () => {
    expect(kindsOf(film(() => null))).toEqual([])
    expect(kindsOf(film((c, r) => (disc(c, r, 180, 180, 2) ? CLEAR : null)))).toEqual(['pinhole'])
    expect(kindsOf(film((c, r) => (disc(c, r, 380, 380, 3) ? BLACK : null)))).toEqual(['speck'])
    const scratch = (c: number, r: number) =>
      c > 130 && c < 260 && Math.abs(r - 130 - 0.6 * (c - 130)) < 1 ? CLEAR : null
    expect(kindsOf(film(scratch))).toEqual(['scratch'])
  })

  it('takes the counter of a letter, its full stop and a reversed line on the film’s axes for artwork', () => {
    const letter = (c: number, r: number) =>
      box(c, r, 370, 300, 36, 44) ? (box(c, r, 380, 310, 16, 10) ? CLEAR : BLACK) : null
    expect(kindsOf(film(letter))).toEqual([])
    expect(kindsOf(film((c, r) => letter(c, r) ?? (box(c, r, 414, 336, 8, 8) ? BLACK : null)))).toEqual([])
    expect(kindsOf(film((c, r) => (box(c, r, 120, 150, 150, 3) ? CLEAR : null)))).toEqual([])
  })

  it('leaves out dots on a screen, dust on the bare glass and the film’s own edge', () => {
    const screen = (c: number, r: number) =>
      box(c, r, 330, 320, 120, 120) && disc(c % 12, r % 12, 6, 6, 3) ? BLACK : null
    const places = look(film(screen))
    if ('because' in places) return expect.fail(places.because)
    expect(places.candidates).toEqual([])
    expect(places.skippedMm2.halftone).toBeGreaterThan(15)
    expect(kindsOf((c, r) => (disc(c, r, 20, 250, 3) ? BLACK : film(() => null)(c, r)))).toEqual([])
    expect(kindsOf(film((c, r) => (disc(c, r, 48, 250, 3) ? BLACK : null)))).toEqual([])
  })

  it('takes words left open in ink, leader dots, modules of a code and a screen of slanting lines for artwork, and a hole among them for a flaw', () => {
    // An i with its dot, twice, and an l: letters of 22 pixels, 0.9 mm.
    const word = (c: number, r: number) =>
      [130, 144, 158].some(x => box(c, r, x, 150, 5, 16)) || [130, 144].some(x => box(c, r, x, 141, 5, 5))
        ? CLEAR
        : null
    expect(kindsOf(film(word))).toEqual([])
    const leaders = (c: number, r: number) => (r >= 380 && r < 385 && c >= 80 && c < 440 && c % 40 < 5 ? BLACK : null)
    expect(kindsOf(film(leaders))).toEqual([])
    // Modules of 9 pixels in a frame, black by chance.
    let state = 3
    const on = Array.from({ length: 400 }, () => {
      state = (state * 16807) % 2147483647
      return state % 2 === 0
    })
    const code = (c: number, r: number) => {
      if (!box(c, r, 300, 290, 180, 180) || c >= 460 || r >= 450) return null
      const [a, b] = [Math.floor((c - 300) / 9), Math.floor((r - 290) / 9)]
      return a === 0 || b === 17 || on[b * 20 + a] ? BLACK : CLEAR
    }
    expect(kindsOf(film(code))).toEqual([])
    const slanting = (c: number, r: number) => {
      const across = 0.94 * (r - 120) - 0.342 * (c - 120)
      return box(c, r, 112, 112, 176, 136) && ((across % 16) + 16) % 16 < 3 ? CLEAR : null
    }
    expect(kindsOf(film(slanting))).toEqual([])
    expect(kindsOf(film((c, r) => word(c, r) ?? (disc(c, r, 250, 220, 3) ? CLEAR : null)))).toEqual(['pinhole'])
  })

  it('finds the line a lost nozzle leaves through a whole solid, and a thin spot', () => {
    const nozzle = (c: number, r: number) => (box(c, r, 100, 170, 200, 1) ? CLEAR * 0.6 : null)
    expect(kindsOf(film(nozzle))).toEqual(['missingNozzle'])
    const thin = (c: number, r: number) => (disc(c, r, 200, 180, 14) ? 0.01 : null)
    expect(kindsOf(film(thin))).toEqual(['thinSpot'])
    // Dots of a tint that has run shut let as much light through, side by side.
    const shut = (c: number, r: number) =>
      box(c, r, 110, 110, 180, 140) && disc(c % 18, r % 18, 9, 9, 6) ? 0.03 : null
    expect(kindsOf(film(shut))).toEqual([])
  })

  it('has a reason for a scan dark all over, and none to fail on clear film and on bare glass', () => {
    const black = look(() => BLACK)
    expect('because' in black ? black.next.length : 0).toBeGreaterThan(0)
    const clear = look((c, r) => (box(c, r, 40, 40, 440, 440) ? CLEAR : 1))
    expect('because' in clear ? [clear.because] : clear.candidates).toEqual([])
    const bare = look(() => 1)
    expect('because' in bare ? [] : bare.candidates).toEqual([])
  })

  it('has a reason for a page of noise, and lists no million of strewn spots', () => {
    let state = 1
    const random = () => {
      state = (state * 16807) % 2147483647
      return state / 2147483647
    }
    const noise = findFlaws(locateScan(paintedScan(400, 400, random)))
    expect('because' in noise ? noise.because : '').toContain('no clear film')
    const strewn = paintedScan(700, 700, (c, r) => (c % 6 < 2 && r % 7 < 2 && random() < 0.5 ? BLACK : CLEAR))
    const places = findFlaws(locateScan(strewn))
    if ('because' in places) return expect.fail(places.because)
    const flaws = measureFlaws(strewn.scan, strewn.umPerPixel, strewn.light.lineSpread, places)
    expect(flaws.list.length).toBeLessThanOrEqual(500)
  })
})

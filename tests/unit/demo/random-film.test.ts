import { describe, expect, it } from 'vitest'
import { RANDOM_FILM_RANGES, randomFilm } from '../../../src/demo/random-film.js'
import { filmToPixel, scanSize } from '../../../src/demo/scanner.js'
import { riseOf, scannedEdge } from '../../../src/demo/truth.js'
import { expectWithin } from '../../support/expect-within.js'

const seeds = Array.from({ length: 60 }, (_, i) => 100 + i)

describe('randomFilm', () => {
  it('is the same for the same seed', () => {
    expect(randomFilm(7)).toEqual(randomFilm(7))
    expect(randomFilm(7)).not.toEqual(randomFilm(8))
  })

  it('keeps to its ranges and lies wholly on the bed with open light round it', () => {
    for (const seed of seeds) {
      const drawn = randomFilm(seed, { scaleError: [0, 0.003] })
      const { film, placement, scanner } = drawn
      expect(film.baseDensity).toBeGreaterThanOrEqual(RANDOM_FILM_RANGES.baseDensity[0])
      expect(film.netDensity).toBeLessThan(RANDOM_FILM_RANGES.netDensity[1])
      expect(film.inkSpreadUm).toBeGreaterThanOrEqual(8)
      const tilt = Math.abs(placement.turnDegrees - 90 * Math.round(placement.turnDegrees / 90))
      expect(tilt).toBeGreaterThanOrEqual(0.1)
      expect(tilt).toBeLessThan(10)
      expect(Math.abs(scanner.scaleErrorAcross)).toBeLessThanOrEqual(0.003)
      const { width, height, pitchUm } = scanSize(drawn)
      const margin = 500 / pitchUm.across
      for (const u of [0, film.widthMm])
        for (const v of [0, film.heightMm]) {
          const { column, row } = filmToPixel(drawn, u, v)
          expect(column).toBeGreaterThan(margin)
          expect(column).toBeLessThan(width - margin)
          expect(row).toBeGreaterThan(margin)
          expect(row).toBeLessThan(height - margin)
        }
    }
  })

  it('has 4 to 10 solids that do not touch, two of them with sides of 10 mm', () => {
    for (const seed of seeds) {
      const { film } = randomFilm(seed)
      const solids = film.shapes.filter(s => s.kind === 'rectangle' && Math.min(s.width, s.height) >= 4)
      const boxes = solids.flatMap(s => (s.kind === 'rectangle' ? [s] : []))
      expect(boxes.length).toBeGreaterThanOrEqual(4)
      expect(boxes.filter(s => Math.min(s.width, s.height) >= 10).length).toBeGreaterThanOrEqual(2)
      for (const a of boxes)
        for (const b of boxes)
          if (a !== b) {
            const across = Math.max(a.u, b.u) - Math.min(a.u + a.width, b.u + b.width)
            const down = Math.max(a.v, b.v) - Math.min(a.v + a.height, b.v + b.height)
            expect(Math.max(across, down)).toBeGreaterThanOrEqual(0)
          }
    }
  })

  it('draws every kind of placement and keeps what it is told', () => {
    const drawn = seeds.map(seed => randomFilm(seed, { dpi: [600, 2400], mirrored: [true] }))
    expect(new Set(drawn.map(d => d.scanner.dpi))).toEqual(new Set([600, 2400]))
    expect(drawn.every(d => d.placement.mirrored)).toBe(true)
    expect(new Set(drawn.map(d => ((Math.round(d.placement.turnDegrees / 90) % 4) + 4) % 4)).size).toBe(4)
  })

  it('its truth is that of its edge', () => {
    const { truth, film } = randomFilm(11, { netDensity: [3, 3.5] })
    expect(truth.solidDensity).toBe(film.baseDensity + film.netDensity)
    const seen = scannedEdge(truth.edge, { sigmaUm: 0, boxesUm: [0, 0] })
    expectWithin(riseOf(seen, -400, 400), truth.riseUm, {
      abs: 1e-6,
      unit: 'um',
      because: 'bisection of the profile against its closed form',
    })
    expect(truth.fringeUm).toBeGreaterThan(truth.inkSpreadUm)
    expect(randomFilm(11, { netDensity: [1.5, 2.2] }).truth.fringeUm).toBeNull()
  })
})

import { describe, expect, it } from 'vitest'
import { lightScale } from '../../src/calibrate/light-scale.js'
import { compareFilms, type FilmScan } from '../../src/compare/compare-films.js'
import { blockText, solid } from '../../src/demo/artwork.js'
import type { Film } from '../../src/demo/film.js'
import { seededRandom } from '../../src/demo/random.js'
import { randomFilm } from '../../src/demo/random-film.js'
import type { BedScan, DemoScanner, Placement } from '../../src/demo/scanner.js'
import { halfLightShift } from '../../src/demo/truth.js'
import { locateScan } from '../../src/locate/locate-scan.js'
import { calibratedScanner, openBedScan } from '../support/calibrated-scanner.js'

/**
 * Films drawn at random, scanned twice on scanners drawn at random, the second time with ink that crept by Fick's law (a wider Gaussian of
 * ink amount), lying somehow else. Truth from the edge in closed form. Change SEED and it must still hold.
 */
const SEED = 400
const OPTIONS = { fringeContours: { low: 0.2, high: 1.8 }, sameCalibration: false, sameTablet: false }

function look(scan: BedScan, seed: number): FilmScan {
  const um = 25_400 / scan.scanner.dpi
  const located = locateScan({
    scan: openBedScan(scan),
    light: lightScale(calibratedScanner(scan.scanner, seed)),
    umPerPixel: { across: um, along: um },
  })
  return {
    scan: located.scan,
    overview: located.overview,
    regions: located.regions,
    solids: located.patches.solids,
  }
}

function onBed(
  film: Film,
  scanner: DemoScanner,
  placement: Omit<Placement, 'acrossMm' | 'alongMm'>,
  seed: number,
): BedScan {
  const random = seededRandom(seed)
  const side = Math.hypot(film.widthMm, film.heightMm) + 5
  return {
    scanner,
    bedWidthMm: side,
    bedHeightMm: side,
    film,
    placement: {
      acrossMm: side / 2 + random.between(-1.5, 1.5),
      alongMm: side / 2 + random.between(-1.5, 1.5),
      ...placement,
    },
    holder: null,
    seed,
  }
}

interface Row {
  dpi: string
  off: number
  expanded: number
  grown: boolean
  said: boolean
}
const rows: Row[] = []

describe('growth of random films against its truth', () => {
  for (const [name, dpis, films, allowed] of [
    ['600 dpi', [600, 600], 2, 3],
    ['600 after 1200 dpi', [1200, 600], 1, 3],
    ['1200 dpi', [1200, 1200], 1, 1.5],
  ] as const)
    for (let i = 0; i < films; i++)
      it(`${name}, film ${i + 1}`, () => {
        const seed = SEED + dpis[0] + 10 * i
        const random = seededRandom(seed)
        const blurUm = (dpi: number): [number, number] => (dpi === 600 ? [12, 25] : [7, 16])
        const drawn = randomFilm(seed, {
          dpi: [dpis[0]],
          blurUm: blurUm(dpis[0]),
          scaleError: [0, 0.003],
          inkSpreadUm: [14, 40],
          netDensity: [2, 3.4],
          grain: [0, 0.02],
        })
        const other = randomFilm(seed + 5, { dpi: [dpis[1]], blurUm: blurUm(dpis[1]), scaleError: [0, 0.003] })
        const grown = i !== 0 || films === 1
        const after: Film = {
          ...drawn.film,
          inkSpreadUm: drawn.film.inkSpreadUm * (grown ? random.between(1.05, 1.5) : 1),
        }
        const lying = {
          turnDegrees: random.pick([0, 90, 180, 270]) + random.between(-5, 5),
          mirrored: random.uniform() < 0.5,
        }
        const found = compareFilms(look(drawn, seed), look(onBed(after, other.scanner, lying, seed), seed + 1), OPTIONS)
        if (found.outcome !== 'compared') expect.fail(JSON.stringify(found))
        const { readings, placement } = found.comparison
        const truth = halfLightShift(after) - halfLightShift(drawn.film)
        const edge = readings.edgeGrowth!
        rows.push({
          dpi: name,
          off: edge.value - truth,
          expanded: edge.expanded,
          grown,
          said: Math.abs(edge.value) > edge.expanded,
        })
        expect(Math.abs(edge.value - truth), 'edge growth').toBeLessThanOrEqual(allowed)
        expect(edge.expanded).toBeLessThanOrEqual(allowed)
        const spread = readings.spreadGrowth!
        expect(
          Math.abs(spread.value - (after.inkSpreadUm - drawn.film.inkSpreadUm)),
          'spread growth',
        ).toBeLessThanOrEqual(allowed)
        expect(placement.matched).toBeGreaterThan(0.95)
      })

  it('U covers the truth, and what did not grow is not said to have', () => {
    console.table(rows.map(r => ({ ...r, off: r.off.toFixed(2), expanded: r.expanded.toFixed(2) })))
    for (const row of rows) {
      expect(Math.abs(row.off)).toBeLessThanOrEqual(row.expanded)
      if (!row.grown) expect(row.said).toBe(false)
    }
  })
})

describe('a film that is not all there, or not the same', () => {
  const { scanner } = randomFilm(SEED, { dpi: [600], gamma: [1, 1.5] })
  const film: Film = {
    widthMm: 40,
    heightMm: 30,
    baseDensity: 0.05,
    netDensity: 3,
    inkSpreadUm: 20,
    shapes: [
      solid(3, 3, 9, 5),
      ...blockText('INK 5', 15, 3, 5),
      solid(3, 12, 20, 0.4),
      solid(27, 12, 0.3, 14),
      solid(31, 13, 1, 12),
      ...blockText('TIDE', 3, 18, 6),
    ],
  }
  const straight = { turnDegrees: 0.7, mirrored: false }
  const first = look(onBed(film, scanner, straight, 1), 1)

  it('partly off the glass it is measured by what is left', () => {
    const whole = onBed({ ...film, inkSpreadUm: 28 }, scanner, { turnDegrees: 184, mirrored: false }, 2)
    const cut = { ...whole, bedWidthMm: 36, placement: { ...whole.placement, acrossMm: 10 } }
    const found = compareFilms(first, look(cut, 1), OPTIONS)
    if (found.outcome !== 'compared') expect.fail(JSON.stringify(found))
    const truth = halfLightShift({ ...film, inkSpreadUm: 28 }) - halfLightShift(film)
    const edge = found.comparison.readings.edgeGrowth!
    expect(Math.abs(edge.value - truth)).toBeLessThanOrEqual(edge.expanded)
    expect(found.comparison.placement.inView).toBeLessThan(0.9)
    expect(found.comparison.notes.join()).toContain('in view of this scan')
  })

  it('a new print of the same artwork with sharper edges looks like one', () => {
    const found = compareFilms(first, look(onBed({ ...film, inkSpreadUm: 14 }, scanner, straight, 3), 1), OPTIONS)
    if (found.outcome !== 'compared') expect.fail(JSON.stringify(found))
    expect(found.comparison.looksReprinted).toBe(true)
  })

  it('another separation with the same text is another film', () => {
    const shapes = [...blockText('INK 5', 15, 3, 5), solid(4, 12, 3, 15), solid(12, 14, 24, 3), solid(20, 22, 15, 4)]
    const found = compareFilms(first, look(onBed({ ...film, shapes }, scanner, straight, 4), 1), OPTIONS)
    expect(found.outcome).toBe('notSameFilm')
  })
})

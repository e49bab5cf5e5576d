import { describe, expect, it } from 'vitest'
import { compareFilms } from '../../src/compare/compare-films.js'
import { blockText, solid } from '../../src/demo/artwork.js'
import type { Film } from '../../src/demo/film.js'
import { randomFilm } from '../../src/demo/random-film.js'
import type { BedScan, DemoScanner, Placement } from '../../src/demo/scanner.js'
import { halfLightShift } from '../../src/demo/truth.js'
import { calibratedScanner } from '../support/calibrated-scanner.js'
import { type CalibratedDemo, growthPair, look } from '../support/growth-pair.js'

/**
 * Films drawn at random, scanned twice on scanners drawn at random, the second time with ink that crept by Fick's law (a wider Gaussian of
 * ink amount), lying somehow else (`growthPair`). Truth from the edge in closed form. Change SEED and it must still hold. Hundreds of pairs:
 * `tests/support/make-growth-pairs.ts`, by hand.
 */
const SEED = 400
const OPTIONS = { fringeContours: { low: 0.2, high: 1.8 }, sameCalibration: false, sameTablet: false }

/** A scanner drawn at random, calibrated once for all that is scanned on it. */
function drawnScanner(seed: number, dpi: 600 | 1200): CalibratedDemo {
  const { scanner } = randomFilm(seed, { dpi: [dpi], blurUm: dpi === 600 ? [12, 25] : [7, 16], scaleError: [0, 0.001] })
  return { scanner, calibration: calibratedScanner(scanner, seed) }
}

const a = drawnScanner(SEED + 1, 600)
const b = drawnScanner(SEED + 2, 600)
const fine = drawnScanner(SEED + 3, 1200)

function onBed(
  film: Film,
  scanner: DemoScanner,
  placement: Omit<Placement, 'acrossMm' | 'alongMm'>,
  seed: number,
): BedScan {
  const side = Math.hypot(film.widthMm, film.heightMm) + 3
  return {
    scanner,
    bedWidthMm: side,
    bedHeightMm: side,
    film,
    placement: { acrossMm: side / 2, alongMm: side / 2, ...placement },
    holder: null,
    seed,
  }
}

interface Row {
  pair: string
  lies: string
  off: number
  expanded: number
  grown: boolean
  said: boolean
}
const rows: Row[] = []

describe('growth of random films against its truth, shifted by 15 to 22 mm and turned', () => {
  const all = { cut: false, grown: true }
  for (const [name, plan, allowed] of [
    ['600 dpi', { ...all, first: a, second: b }, 3],
    ['600 dpi, unchanged', { ...all, first: b, second: a, grown: false }, 3],
    ['600 dpi, unchanged, one scanner', { ...all, first: a, second: a, grown: false }, 3],
    ['600 dpi, partly off the glass', { ...all, first: a, second: b, cut: true }, 3],
    ['600 after 1200 dpi', { ...all, first: fine, second: a }, 3],
    ['1200 dpi', { ...all, first: fine, second: { ...fine } }, 1.5],
  ] as const)
    it(name, () => {
      const { found, edgeTruth, spreadTruth, lies } = growthPair(SEED + 10 * rows.length, plan)
      if (found.outcome !== 'compared') expect.fail(JSON.stringify(found))
      const { readings, placement } = found.comparison
      const edge = readings.edgeGrowth!
      rows.push({
        pair: name,
        lies,
        off: edge.value - edgeTruth,
        expanded: edge.expanded,
        grown: plan.grown,
        said: Math.abs(edge.value) > edge.expanded,
      })
      expect(Math.abs(edge.value - edgeTruth), 'edge growth').toBeLessThanOrEqual(allowed)
      expect(edge.expanded).toBeLessThanOrEqual(allowed)
      expect(Math.abs(readings.spreadGrowth!.value - spreadTruth), 'spread growth').toBeLessThanOrEqual(allowed)
      expect(placement.matched).toBeGreaterThan(0.95)
      if (plan.cut) expect(placement.inView).toBeLessThan(0.95)
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
  const { scanner, calibration } = a
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
  const first = look(onBed(film, scanner, straight, 1), calibration)

  it('partly off the glass it is measured by what is left', () => {
    const whole = onBed({ ...film, inkSpreadUm: 28 }, scanner, { turnDegrees: 184, mirrored: false }, 2)
    const cut = { ...whole, bedWidthMm: 36, placement: { ...whole.placement, acrossMm: 10 } }
    const found = compareFilms(first, look(cut, calibration), OPTIONS)
    if (found.outcome !== 'compared') expect.fail(JSON.stringify(found))
    const truth = halfLightShift({ ...film, inkSpreadUm: 28 }) - halfLightShift(film)
    const edge = found.comparison.readings.edgeGrowth!
    expect(Math.abs(edge.value - truth)).toBeLessThanOrEqual(edge.expanded)
    expect(found.comparison.placement.inView).toBeLessThan(0.9)
    expect(found.comparison.notes.join()).toContain('in view of this scan')
  })

  it('a new print of the same artwork with sharper edges looks like one', () => {
    const found = compareFilms(
      first,
      look(onBed({ ...film, inkSpreadUm: 14 }, scanner, straight, 3), calibration),
      OPTIONS,
    )
    if (found.outcome !== 'compared') expect.fail(JSON.stringify(found))
    expect(found.comparison.looksReprinted).toBe(true)
  })

  it('another separation with the same text is another film', () => {
    const shapes = [...blockText('INK 5', 15, 3, 5), solid(4, 12, 3, 15), solid(12, 14, 24, 3), solid(20, 22, 15, 4)]
    const found = compareFilms(first, look(onBed({ ...film, shapes }, scanner, straight, 4), calibration), OPTIONS)
    expect(found.outcome).toBe('notSameFilm')
  })
})

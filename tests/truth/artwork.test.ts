import { describe, expect, it } from 'vitest'
import { alignArtwork } from '../../src/artwork/align-artwork.js'
import { compareInk } from '../../src/artwork/compare-ink.js'
import { unknownLightScale } from '../../src/calibrate/light-scale.js'
import type { Shape } from '../../src/demo/film.js'
import type { BedScan } from '../../src/demo/scanner.js'
import { dotsOf } from '../../src/demo/separation.js'
import { filmInk } from '../../src/locate/film-ink.js'
import { filmTurns } from '../../src/locate/film-turns.js'
import { locateScan } from '../../src/locate/locate-scan.js'
import type { ArtworkBitmap } from '../../src/model/artwork.js'
import { type ArtworkFilmPlan, artworkFilm } from '../support/artwork-film.js'
import { openBedScan } from '../support/calibrated-scanner.js'

/**
 * Artworks drawn at random (seeded) and films of them: any turn, mirrored or not, sizes off by 0.5 %, ink spread 8 to 60 um, with and without a piece taken away
 * and a block of 0.66 mm2 added. The truth is the area of what was changed.
 */
const SEED = 70
const PLANS: readonly (Pick<ArtworkFilmPlan, 'artworkDpi' | 'scanDpi' | 'cells'> & { readonly spoilt: boolean })[] = [
  { artworkDpi: { across: 720, along: 720 }, scanDpi: 600, cells: [4, 3], spoilt: false },
  { artworkDpi: { across: 720, along: 720 }, scanDpi: 600, cells: [4, 3], spoilt: true },
  { artworkDpi: { across: 1440, along: 720 }, scanDpi: 600, cells: [4, 3], spoilt: true },
  { artworkDpi: { across: 720, along: 720 }, scanDpi: 1200, cells: [3, 2], spoilt: true },
]
/** No tints here: what is missing of one has another truth than its dots. */
const KINDS = [0, 1, 3, 4, 5, 6]
const ADDED: Shape = { kind: 'rectangle', u: 0.9, v: 1.2, width: 0.6, height: 1.1 }

const rows: Record<string, number | string>[] = []

function compared(artwork: ArtworkBitmap, bed: BedScan) {
  const um = 25_400 / bed.scanner.dpi
  const located = locateScan({
    scan: openBedScan(bed),
    light: unknownLightScale(bed.scanner.gain),
    umPerPixel: { across: um, along: um },
  })
  const { scan, overview, regions } = located
  const clear = regions.base ?? 1
  const fit = alignArtwork(artwork, {
    scan,
    ...filmInk(located),
    clear,
    turns: filmTurns(located),
  })
  if (fit.kind !== 'fitted') return fit
  return compareInk(artwork, fit, { scan, overview, onFilm: regions.film, clear })
}

describe('ink of random films against their artwork', () => {
  PLANS.forEach(({ spoilt, ...plan }, k) => {
    it(`artwork ${plan.artworkDpi.across} x ${plan.artworkDpi.along}, scan ${plan.scanDpi} dpi${spoilt ? ', spoilt' : ''}`, () => {
      let missing = 0
      const one = artworkFilm({
        ...plan,
        seed: SEED + k,
        only: KINDS,
        ...(spoilt
          ? {
              spoil: (shapes, random) => {
                const blocks = shapes.filter(
                  s =>
                    s.kind === 'rectangle' &&
                    (s.turn ?? 0) === 0 &&
                    Math.min(s.width, s.height) > 0.4 &&
                    s.width * s.height > 1.5,
                )
                const gone = random.pick(blocks)
                if (gone.kind === 'rectangle') missing = gone.width * gone.height
                return [...shapes.filter(shape => shape !== gone), ADDED]
              },
            }
          : {}),
      })
      const found = compared(one.artwork, one.scan)
      if ('kind' in found) return expect.fail(found.because)
      const extra = spoilt ? 0.66 : 0
      rows.push({
        scan: plan.scanDpi,
        'spread um': Math.round(one.film.inkSpreadUm),
        'missing mm2': Number(missing.toFixed(3)),
        off: Number((found.missing.areaMm2 - missing).toFixed(3)),
        U: Number((2 * found.missing.standardMm2).toFixed(3)),
        'extra mm2': extra,
        'extra off': Number((found.extra.areaMm2 - extra).toFixed(3)),
        'extra U': Number((2 * found.extra.standardMm2).toFixed(3)),
        places: `${found.missing.count} + ${found.extra.count}`,
      })
      expect(found.missing.count).toBe(spoilt ? 1 : 0)
      expect(found.extra.count).toBe(spoilt ? 1 : 0)
      expect(Math.abs(found.missing.areaMm2 - missing)).toBeLessThanOrEqual(2 * found.missing.standardMm2)
      expect(Math.abs(found.extra.areaMm2 - extra)).toBeLessThanOrEqual(2 * found.extra.standardMm2)
      expect(2 * found.missing.standardMm2).toBeLessThanOrEqual(0.15 * missing)
    })
  })

  it('a tint that was left out is missing by its mean ink; its clear neighbours are not', () => {
    let area = 0
    const one = artworkFilm({
      seed: SEED + 9,
      artworkDpi: { across: 720, along: 720 },
      scanDpi: 600,
      cells: [3, 2],
      only: [2, 0],
      spoil: shapes => {
        const gone = shapes.find(shape => shape.kind === 'dots' && (shape.ink ?? 1) > 0)
        if (gone?.kind !== 'dots') return shapes
        area = dotsOf(gone).length * Math.PI * gone.radius ** 2
        return shapes.filter(shape => shape !== gone)
      },
    })
    const found = compared(one.artwork, one.scan)
    if ('kind' in found) return expect.fail(found.because)
    expect(area).toBeGreaterThan(5)
    expect(found.missing.places[0]?.tint).toBe(true)
    expect(Math.abs(found.missing.areaMm2 - area)).toBeLessThanOrEqual(2 * found.missing.standardMm2)
    expect(found.extra.count).toBe(0)
  })

  it('prints what was reached', () => {
    console.table(rows)
    expect(rows.length).toBe(PLANS.length)
  })
})

import { describe, expect, it } from 'vitest'
import { alignArtwork } from '../../src/artwork/align-artwork.js'
import { compareInk } from '../../src/artwork/compare-ink.js'
import { localShift } from '../../src/artwork/local-shift.js'
import { unknownLightScale } from '../../src/calibrate/light-scale.js'
import type { Shape } from '../../src/demo/film.js'
import { type BedScan, filmToPixel } from '../../src/demo/scanner.js'
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

function laid(artwork: ArtworkBitmap, bed: BedScan) {
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
  const film = { scan, overview, onFilm: regions.film, clear }
  return { fit, difference: fit.kind === 'fitted' ? compareInk(artwork, fit, film) : null }
}

function compared(artwork: ArtworkBitmap, bed: BedScan) {
  const { fit, difference } = laid(artwork, bed)
  return fit.kind === 'fitted' ? difference! : fit
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

  it('a film that wanders by 0.1 mm in waves of 45 and 60 mm is followed to 0.3 pixels, and lacks nothing', () => {
    const off = (at: number, long: number) => 0.1 * Math.sin((2 * Math.PI * at) / long + 1)
    const one = artworkFilm({
      seed: SEED + 12,
      artworkDpi: { across: 720, along: 720 },
      scanDpi: 600,
      cells: [4, 3],
      only: [0, 1, 3, 6],
      // Upright bars stay upright: each axis wanders along itself.
      spoil: shapes =>
        shapes.map(shape => {
          if (shape.kind !== 'rectangle') return shape
          const [u, v] = [shape.u + off(shape.u, 45), shape.v + off(shape.v, 60)]
          const [right, bottom] = [shape.u + shape.width, shape.v + shape.height]
          return { ...shape, u, v, width: right + off(right, 45) - u, height: bottom + off(bottom, 60) - v }
        }),
    })
    const { fit, difference } = laid(one.artwork, one.scan)
    if (fit.kind !== 'fitted') return expect.fail(fit.because)
    const shift = localShift(fit.shift)
    const width = (one.artwork.width * 25.4) / 720
    const height = (one.artwork.height * 25.4) / 720
    const border = (one.film.widthMm - width * (1 + one.across)) / 2
    for (let u = 8; u < width - 8; u += 4)
      for (let v = 8; v < height - 8; v += 4) {
        const { across, feed } = shift(u, v)
        const seen = {
          column: fit.map.x0 + fit.map.xx * (u + across) + fit.map.xy * (v + feed),
          row: fit.map.y0 + fit.map.yx * (u + across) + fit.map.yy * (v + feed),
        }
        const truth = filmToPixel(
          one.scan,
          border + (1 + one.across) * (u + off(u, 45)),
          border + (1 + one.feed) * (v + off(v, 60)),
        )
        expect(Math.hypot(seen.column - truth.column, seen.row - truth.row), `${u} ${v}`).toBeLessThan(0.3)
      }
    expect(difference?.missing.count).toBe(0)
    expect(difference?.extra.count).toBe(0)
  })

  it('prints what was reached', () => {
    console.table(rows)
    expect(rows.length).toBe(PLANS.length)
  })
})

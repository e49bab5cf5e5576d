import { describe, expect, it } from 'vitest'
import type { FilmScan } from '../../src/compare/compare-films.js'
import { inkLost } from '../../src/compare/ink-lost.js'
import { inkPicture } from '../../src/compare/ink-picture.js'
import { placeFilm } from '../../src/compare/place-film.js'
import { blockText, hairLines, solid } from '../../src/demo/artwork.js'
import type { Film, Shape } from '../../src/demo/film.js'
import { seededRandom } from '../../src/demo/random.js'
import { type Placement, scanFilm } from '../../src/demo/scanner.js'
import { locateScan } from '../../src/locate/locate-scan.js'
import { linearLight } from '../support/bare-scan.js'
import { memoryScan } from '../support/memory-scan.js'
import { QUICK_SCANNER } from '../support/quick-scanner.js'

const SCANNER = { ...QUICK_SCANNER, dpi: 600, blurAcrossUm: 14, blurAlongUm: 14, black: 0, gain: 60_000, veil: 0 }

function seen(shapes: readonly Shape[], place: Partial<Placement>, seed: number, lamp = 1): FilmScan {
  const film: Film = {
    widthMm: 34,
    heightMm: 28,
    baseDensity: 0.06,
    netDensity: 3.1,
    // Ink that comes off breaks at a hard edge; spread ink would close a hole by 18 um a side.
    inkSpreadUm: 0,
    shapes: [
      solid(4, 4, 14, 10),
      solid(21, 5, 9, 8),
      ...blockText('RUB', 4, 17, 5),
      ...hairLines(21, 17, 9, [0.15, 0.2, 0.3], 1),
      ...shapes,
    ],
  }
  const { codes, width, height } = scanFilm({
    scanner: { ...SCANNER, lamp },
    bedWidthMm: 42,
    bedHeightMm: 36,
    film,
    placement: { acrossMm: 21, alongMm: 18, turnDegrees: 0.6, mirrored: false, ...place },
    holder: null,
    seed,
  })
  const um = 25_400 / SCANNER.dpi
  const scan = memoryScan(codes, width, height, SCANNER.dpi)
  const located = locateScan({ scan, light: linearLight(), umPerPixel: { across: um, along: um } })
  return { scan: located.scan, overview: located.overview, regions: located.regions, solids: located.patches.solids }
}

function told(before: FilmScan, after: FilmScan) {
  const picture = ({ overview, regions, scan }: FilmScan) => inkPicture(overview, regions, scan.umPerPixel)
  const placed = placeFilm(picture(before), picture(after))
  if (placed === null) return expect.fail('not placed')
  return inkLost(before, after, placed.map) ?? expect.fail('no solid')
}

/** Chips and scratches inside the first solid, mm2 known. */
function worn(seed: number): { shapes: Shape[]; areaMm2: number; scratches: number } {
  const random = seededRandom(seed)
  const shapes: Shape[] = []
  let areaMm2 = 0
  const chips = 1 + Math.floor(random.uniform() * 5)
  for (let i = 0; i < chips; i++) {
    const radius = random.between(0.06, 0.35)
    shapes.push({ kind: 'disc', u: 6 + (i + 0.5) * (10 / chips), v: random.between(6, 8), radius, ink: -1 })
    areaMm2 += Math.PI * radius ** 2
  }
  const scratches = Math.floor(random.uniform() * 3)
  for (let i = 0; i < scratches; i++) {
    const width = random.between(0.06, 0.2)
    const height = random.between(4, 6)
    shapes.push({ kind: 'rectangle', u: 23 + i * 2.5, v: 6, width, height, ink: -1 })
    areaMm2 += width * height
  }
  return { shapes, areaMm2, scratches }
}

describe('ink lost in a rub test, against what was taken off', () => {
  const before = seen([], {}, 1)

  it('reads the bare area within its U, however the film lies and with another lamp', () => {
    const rows = [1, 4, 5, 6].map(seed => {
      const { shapes, areaMm2, scratches } = worn(seed)
      const place = { turnDegrees: seed % 2 === 0 ? 181.3 : -2.4, mirrored: seed % 3 === 0, acrossMm: 21.3 }
      const lost = told(before, seen(shapes, place, seed + 10, 0.98))
      return { seed, areaMm2, read: lost.areaMm2, U: lost.expandedMm2, scratches, found: lost.scratches }
    })
    console.table(
      rows.map(({ areaMm2, read, U, ...rest }) => ({
        'true mm2': areaMm2.toFixed(3),
        'read mm2': read.toFixed(3),
        U: U.toFixed(3),
        ...rest,
      })),
    )
    for (const { areaMm2, read, U, scratches, found } of rows) {
      expect(Math.abs(read - areaMm2)).toBeLessThanOrEqual(U)
      expect(found).toBe(scratches)
    }
  })

  it('finds nothing lost on a film that nobody rubbed', () => {
    const lost = told(before, seen([], { turnDegrees: 3.1, acrossMm: 20.6 }, 77, 1.02))
    expect(lost).toMatchObject({ areaMm2: 0, places: 0, scratches: 0, largestMm2: 0 })
    expect(lost.solidMm2).toBeGreaterThan(150)
  })
})

import { describe, expect, it } from 'vitest'
import { gaussianCdf } from '../../../src/demo/gaussian.js'
import { printedRaster } from '../../../src/demo/printed-raster.js'
import { seededRandom } from '../../../src/demo/random.js'
import { scanLight } from '../../../src/demo/scanner.js'
import type { ArtworkBitmap } from '../../../src/model/artwork.js'
import { QUICK_SCANNER } from '../../support/quick-scanner.js'

/** Random pixels in clumps, so that runs of all lengths are met. */
function randomRaster(width: number, height: number, across: number, along: number, seed: number): ArtworkBitmap {
  const random = seededRandom(seed)
  const rowBytes = (width + 7) >> 3
  const bits = new Uint8Array(rowBytes * height)
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c += 1 + Math.floor(random.uniform() * 3))
      if (random.uniform() < 0.5) bits[r * rowBytes + (c >> 3)]! |= 0x80 >> (c & 7)
  return { file: 'r', width, height, dpi: { across, along }, bits, rowBytes, inkShare: 0.5, warnings: [] }
}

/** The definition itself: every pixel's rectangle under the Gaussian, one after the other; grown pixels may overlap in `covered` only. */
function summed(raster: ArtworkBitmap, sigmaMm: number, u: number, v: number): number {
  const pu = 25.4 / raster.dpi.across
  const pv = 25.4 / raster.dpi.along
  let sum = 0
  for (let r = 0; r < raster.height; r++)
    for (let c = 0; c < raster.width; c++) {
      if ((raster.bits[r * raster.rowBytes + (c >> 3)]! & (0x80 >> (c & 7))) === 0) continue
      const along = gaussianCdf((u - c * pu) / sigmaMm) - gaussianCdf((u - (c + 1) * pu) / sigmaMm)
      sum += along * (gaussianCdf((v - r * pv) / sigmaMm) - gaussianCdf((v - (r + 1) * pv) / sigmaMm))
    }
  return sum
}

function inkAt(raster: ArtworkBitmap, sigmaUm: number, u: number, v: number, growUm = 0): number {
  const seen = printedRaster({ u: 0, v: 0, raster, growUm }, sigmaUm).look({ u, v, reachU: 0, reachV: 0 })
  if (typeof seen === 'number') return seen
  const out = new Float64Array(1)
  seen(out, 0, 1, u, v, 0, 0)
  return out[0]!
}

describe('printedRaster', () => {
  it.each([
    [720, 720, 20],
    [1440, 720, 12],
    [600, 1440, 60],
  ])('at %i x %i dpi and a spread of %i um is the sum of its pixels', (across, along, sigma) => {
    const raster = randomRaster(60, 40, across, along, across + sigma)
    const random = seededRandom(5)
    const part = printedRaster({ u: 0, v: 0, raster }, sigma)
    let worst = 0
    for (let k = 0; k < 200; k++) {
      const u = random.between(-0.1, (60 * 25.4) / across + 0.1)
      const v = random.between(-0.1, (40 * 25.4) / along + 0.1)
      const seen = part.look({ u, v, reachU: 0, reachV: 0 })
      const out = new Float64Array(1)
      if (typeof seen === 'number') out[0] = seen
      else seen(out, 0, 1, u, v, 0, 0)
      worst = Math.max(worst, Math.abs(out[0]! - summed(raster, sigma / 1000, u, v)))
    }
    expect(worst).toBeLessThan(1e-4)
  })

  it('knows pieces of nothing but ink and of none', () => {
    const bits = new Uint8Array(100 * 100).fill(0xff)
    const raster = { ...randomRaster(800, 100, 720, 720, 1), bits, rowBytes: 100 }
    const part = printedRaster({ u: 1, v: 2, raster, ink: 0.7 }, 20)
    expect(part.look({ u: 10, v: 3.7, reachU: 1, reachV: 0.5 })).toBe(0.7)
    expect(part.look({ u: 60, v: 3.7, reachU: 1, reachV: 1 })).toBe(0)
    expect(part.look({ u: 1, v: 3.7, reachU: 1, reachV: 0.5 })).toBeTypeOf('function')
  })

  it('grows a line by the growth on both sides, and a lone pixel by it all round, without counting ink twice', () => {
    // Two lines of 4 pixels of 35.3 um, 3 pixels apart, all rows.
    const rowBytes = 5
    const bits = new Uint8Array(rowBytes * 40)
    for (let r = 0; r < 40; r++) bits[r * rowBytes + 2] = 0b11110001
    for (let r = 0; r < 40; r++) bits[r * rowBytes + 3] = 0b11100000
    const raster = { ...randomRaster(40, 40, 720, 720, 1), bits, rowBytes }
    const px = 25.4 / 720
    const grown = (u: number, a: number, b: number) => gaussianCdf((u - a) / 0.02) - gaussianCdf((u - b) / 0.02)
    for (const u of [15.2, 16, 18, 20.1, 21.5, 23, 25.4, 27]) {
      const at = u * px
      const wanted = grown(at, 16 * px - 0.01, 20 * px + 0.01) + grown(at, 23 * px - 0.01, 27 * px + 0.01)
      expect(Math.abs(inkAt(raster, 20, at, 20 * px, 10) - wanted)).toBeLessThan(1e-4)
    }
    expect(inkAt(raster, 20, 18 * px, 20 * px, 10)).toBeLessThan(1.0002)
  })

  it('refuses no spread and a growth of half a pixel', () => {
    const raster = randomRaster(8, 8, 720, 720, 1)
    expect(() => printedRaster({ u: 0, v: 0, raster }, 0)).toThrow('2 um or more')
    expect(() => printedRaster({ u: 0, v: 0, raster, growUm: 18 }, 20)).toThrow('half a printed pixel')
    expect(() => printedRaster({ u: 0, v: 0, raster, growUm: -1 }, 20)).toThrow('half a printed pixel')
  })

  it('lies on the film beside the shapes, turned and mirrored as they are', () => {
    const raster = { ...randomRaster(72, 72, 720, 720, 1), bits: new Uint8Array(9 * 72).fill(0xff) }
    const film = { widthMm: 12, heightMm: 9, baseDensity: 0.04, netDensity: 3, inkSpreadUm: 25 }
    const bed = { scanner: QUICK_SCANNER, bedWidthMm: 15, bedHeightMm: 14, holder: null, seed: 1 }
    const placement = { acrossMm: 7.5, alongMm: 7, turnDegrees: 17, mirrored: true }
    const drawn = scanLight({
      ...bed,
      placement,
      film: { ...film, shapes: [], printed: [{ u: 3, v: 2, raster }] },
    }).light
    const shapes = [{ kind: 'rectangle', u: 3, v: 2, width: 2.54, height: 2.54 } as const]
    const wanted = scanLight({ ...bed, placement, film: { ...film, shapes } }).light
    let worst = 0
    for (let i = 0; i < wanted.length; i++) worst = Math.max(worst, Math.abs(wanted[i]! - drawn[i]!))
    expect(worst).toBeLessThan(5e-4)
  })
})

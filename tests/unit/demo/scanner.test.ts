import { describe, expect, it } from 'vitest'
import type { Film } from '../../../src/demo/film.js'
import {
  type BedScan,
  type DemoScanner,
  filmToPixel,
  meanCode,
  scanFilm,
  scanLight,
  scanSize,
} from '../../../src/demo/scanner.js'
import { placeOf, riseOf, scannedEdge, spreadAlongNormal } from '../../../src/demo/truth.js'
import { expectWithin } from '../../support/expect-within.js'

const still: DemoScanner = {
  maker: 'Tidewater',
  model: 'flatbed-t',
  dpi: 1200,
  scaleErrorAcross: 0,
  scaleErrorAlong: 0,
  blurAcrossUm: 12,
  blurAlongUm: 12,
  black: 300,
  gain: 60_000,
  gamma: 1.8,
  veil: 0,
  readNoise: 0,
  shotNoise: 0,
  flare: 0,
  flareReachMm: 8,
  shading: 0,
  lamp: 1,
}

const square: Film = {
  widthMm: 11,
  heightMm: 11,
  baseDensity: 0.05,
  netDensity: 3.6,
  inkSpreadUm: 20,
  shapes: [{ kind: 'rectangle', u: 3.5, v: 3.5, width: 4, height: 4 }],
}

function bed(film: Film, scanner: Partial<DemoScanner>, turnDegrees: number, mirrored = false, side = 7): BedScan {
  return {
    scanner: { ...still, ...scanner },
    bedWidthMm: side,
    bedHeightMm: side,
    film,
    placement: { acrossMm: side / 2 + 0.013, alongMm: side / 2 - 0.017, turnDegrees, mirrored },
    holder: null,
    seed: 5,
  }
}

/**
 * How far the pixels near one edge of the square lie from the closed one-dimensional truth: place and width by
 * least squares (the first two terms of a Taylor series), and the worst single pixel.
 */
function offTruth(scan: BedScan, edgeOf: 'u' | 'v') {
  const { light, width, height } = scanLight(scan)
  const { pitchUm } = scanSize(scan)
  const { scanner, film, placement } = scan
  const truth = scannedEdge(
    film,
    spreadAlongNormal(
      placement.turnDegrees + (edgeOf === 'u' ? 0 : 90),
      { across: scanner.blurAcrossUm, along: scanner.blurAlongUm },
      pitchUm,
    ),
  )
  const reach = 300
  const grid = 0.5
  const table = Float64Array.from({ length: (2 * reach) / grid + 1 }, (_, i) => truth(i * grid - reach))
  // Cubic between: the table must not be the coarser of the two.
  const at = (x: number) => {
    const k = Math.floor((x + reach) / grid)
    const t = (x + reach) / grid - k
    const [a, b, c, d] = [table[k - 1]!, table[k]!, table[k + 1]!, table[k + 2]!]
    return b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)))
  }
  const half = placeOf(truth, (truth(-reach) + truth(reach)) / 2, -reach, reach)
  const turn = (placement.turnDegrees * Math.PI) / 180
  let worst = 0
  let place = 0
  let placeWeight = 0
  let widening = 0
  let wideningWeight = 0
  for (let row = 0; row < height; row++)
    for (let column = 0; column < width; column++) {
      const x = ((column + 0.5) * pitchUm.across) / 1000 - placement.acrossMm
      const y = ((row + 0.5) * pitchUm.along) / 1000 - placement.alongMm
      const u = (x * Math.cos(turn) + y * Math.sin(turn)) * (placement.mirrored ? -1 : 1) + film.widthMm / 2
      const v = -x * Math.sin(turn) + y * Math.cos(turn) + film.heightMm / 2
      const distance = ((edgeOf === 'u' ? u : v) - 3.5) * 1000
      const along = edgeOf === 'u' ? v : u
      if (!(Math.abs(distance) < reach - 2 && along > 4.6 && along < 6.4)) continue
      const off = light[row * width + column]! - at(distance)
      const slope = (at(distance + 1) - at(distance - 1)) / 2
      const stretch = -(distance - half) * slope
      worst = Math.max(worst, Math.abs(off))
      place -= off * slope
      placeWeight += slope * slope
      widening += off * stretch
      wideningWeight += stretch * stretch
    }
  return { worst, placeUm: place / placeWeight, widthShare: widening / wideningWeight }
}

describe('optics against the one-dimensional truth', () => {
  const dots = [600, 1200, 2400]
  const inks = [0, 8, 25, 80]
  const blurs = [5, 12, 25]
  // Every value of each with every value of its neighbours, tilts going round; not all 36 at all tilts.
  const tilts = [0.1, 1.7, 3.3, 10, 45, 92, 183.7, 265.4]
  let next = 0
  for (const dpi of dots)
    for (const ink of inks)
      for (const blur of blurs) {
        if (dpi === 2400 && blur === 25) continue
        const tilt = tilts[next++ % tilts.length]!
        it(`${dpi} dpi, ink ${ink} um, blur ${blur} um, ${tilt} degrees`, () => {
          const scan = bed({ ...square, inkSpreadUm: ink }, { dpi, blurAcrossUm: blur, blurAlongUm: blur * 1.1 }, tilt)
          for (const edgeOf of ['u', 'v'] as const) {
            const off = offTruth(scan, edgeOf)
            expectWithin(off.placeUm, 0, { abs: 0.01, unit: 'um', because: 'a tenth of what is asked (0.1 um)' })
            expectWithin(off.widthShare, 0, { abs: 0.003, unit: '', because: '0.3 % of the 10-90 width is asked' })
            expectWithin(off.worst, 0, {
              abs: 0.004,
              unit: 'T',
              because: 'edges cut hard in cells ripple a little with the pixel phase',
            })
            if (ink > 0) expectWithin(off.worst, 0, { abs: 2e-4, unit: 'T', because: 'smooth edges leave hardly any' })
          }
        })
      }

  it('mirrored films and scanners whose pixel is not quite square or as said', () => {
    for (const inkSpreadUm of [0, 20]) {
      const film = { ...square, inkSpreadUm }
      const scan = bed(film, { scaleErrorAcross: 0.003, scaleErrorAlong: -0.002, blurAlongUm: 17 }, 4.1, true)
      for (const edgeOf of ['u', 'v'] as const) {
        const off = offTruth(scan, edgeOf)
        expectWithin(off.placeUm, 0, { abs: 0.01, unit: 'um', because: 'as above' })
        expectWithin(off.widthShare, 0, { abs: 0.003, unit: '', because: 'as above' })
      }
    }
  })

  it('a wider blur makes a wider edge: the check itself can fail', () => {
    const scan = bed(square, {}, 3.3)
    const pitch = { across: 21.17, along: 21.17 }
    const rise = (blur: number) =>
      riseOf(scannedEdge(square, spreadAlongNormal(3.3, { across: blur, along: blur }, pitch)), -300, 300)
    expect(rise(12.2)).toBeGreaterThan(rise(12) * 1.003)
    const light = scanLight(scan)
    const wider = scanLight({ ...scan, scanner: { ...scan.scanner, blurAcrossUm: 12.6, blurAlongUm: 12.6 } })
    expect(light.light).not.toEqual(wider.light)
  })
})

describe('what lies on the bed', () => {
  it('films, open light and holder have their own light, seen through the response', () => {
    const scan: BedScan = { ...bed(square, {}, 2, false, 16), holder: { side: 'right', widthMm: 1.5 } }
    const { codes, width, height } = scanFilm(scan)
    const code = (u: number, v: number) => {
      const { column, row } = filmToPixel(scan, u, v)
      return codes[Math.round(row) * width + Math.round(column)]!
    }
    const open = Math.round(meanCode(scan.scanner, 1))
    expect(codes[5 * width + 5]).toBe(open)
    expect(codes[5 * width + width - 5]).toBe(scan.scanner.black)
    expect(codes[(height - 5) * width + 5]).toBe(open)
    expect(code(1, 1)).toBe(Math.round(meanCode(scan.scanner, 10 ** -0.05)))
    expect(code(5.5, 5.5)).toBe(Math.round(meanCode(scan.scanner, 10 ** -3.65)))
  })

  it.each([
    ['left', 0.02, 0.5],
    ['top', 0.5, 0.02],
    ['bottom', 0.5, 0.98],
  ] as const)('a holder lies along the %s', (side, x, y) => {
    const scan: BedScan = { ...bed(square, {}, 0, false, 16), holder: { side, widthMm: 1 } }
    const { codes, width, height } = scanFilm(scan)
    expect(codes[Math.floor(y * height) * width + Math.floor(x * width)]).toBe(scan.scanner.black)
    expect(codes[Math.floor((1 - y) * height - 1) * width + Math.floor((1 - x) * width - 1)]).toBeGreaterThan(50_000)
  })

  it('mirrored and turned places go where filmToPixel says', () => {
    const marked: Film = { ...square, shapes: [{ kind: 'rectangle', u: 1, v: 2, width: 2, height: 1 }] }
    for (const mirrored of [false, true])
      for (const turn of [0, 37, 90, 200]) {
        const scan = bed(marked, {}, turn, mirrored, 18)
        const { light, width } = scanLight(scan)
        const at = (u: number, v: number) => {
          const { column, row } = filmToPixel(scan, u, v)
          return light[Math.round(row) * width + Math.round(column)]!
        }
        expectWithin(at(2, 2.5), 10 ** -3.65, { abs: 1e-6, unit: 'T', because: 'middle of the only mark' })
        expectWithin(at(9, 2.5), 10 ** -0.05, { abs: 1e-6, unit: 'T', because: 'its mirror image is clear' })
      }
  })
})

describe('response, flare, shading, noise', () => {
  const solid: Film = { ...square, baseDensity: 3, netDensity: 0, shapes: [] }

  it('lamp and veil act on light, before the response', () => {
    const scan = bed(solid, { lamp: 0.97, veil: 2e-4 }, 0, false, 4)
    const wanted = 300 + 60_000 * (0.97e-3 + 2e-4) ** (1 / 1.8)
    expectWithin(scanFilm(scan).codes[40 * 189 + 40]!, wanted, { abs: 0.6, unit: 'codes', because: 'rounding' })
  })

  it('flare lifts a dark patch as row T04 has it', () => {
    const patch: Film = { ...square, widthMm: 0.4, heightMm: 0.4, baseDensity: 3, netDensity: 0, shapes: [] }
    const scan = bed(patch, { flare: 0.001 }, 0, false, 20)
    const { light, width, height } = scanLight(scan)
    const seen = -Math.log10(light[Math.round(height / 2) * width + Math.round(width / 2)]!)
    expectWithin(seen, 2.6994, { abs: 0.01, unit: 'D', because: 'the patch itself is part of its surroundings' })
    expectWithin(light[0]!, 1, { abs: 1e-6, unit: 'T', because: 'open light among open light stays open light' })
  })

  it('shading darkens the sides and not the middle', () => {
    const scan = bed({ ...solid, baseDensity: 0 }, { shading: 0.1, gamma: 1 }, 0)
    const { codes, width } = scanFilm(scan)
    expectWithin(codes[Math.floor(width / 2)]!, 60_300, { abs: 2, unit: 'codes', because: 'middle' })
    expectWithin(codes[0]!, 54_300, { abs: 60, unit: 'codes', because: 'a pixel inside the side' })
  })

  it('a lamp falls off over the glass, wherever the window lies on it', () => {
    const fallOff = { across: 0.05, along: 0.02, tiltAcross: 0.01 }
    const even = { ...solid, baseDensity: 0 }
    const whole = bed(even, { fallOff, gamma: 1 }, 0)
    const glass = { widthMm: 2 * whole.bedWidthMm, heightMm: 2 * whole.bedHeightMm, leftMm: whole.bedWidthMm, topMm: 0 }
    const first = (scan: BedScan) => scanFilm(scan).codes[0]!
    const because = 'a pixel inside the corner'
    expectWithin(first(whole), 300 + 60_000 * (1 - 0.05 - 0.02 - 0.01), { abs: 90, unit: 'codes', because })
    expectWithin(first({ ...whole, glass }), 300 + 60_000 * (1 - 0.02), { abs: 90, unit: 'codes', because })
  })

  it('film reads denser by the square of the distance from the mid-line, in proportion to its density', () => {
    const scan = {
      ...bed(solid, { lateral: 0.02, gamma: 1, veil: 0 }, 0),
      film: { ...solid, widthMm: 900, heightMm: 900 },
    }
    // The window lies 100 mm to the right of the middle of a glass of 400 mm.
    const glass = { widthMm: 400, heightMm: 400, leftMm: 300 - scan.bedWidthMm / 2, topMm: 0 }
    const { codes, width, height } = scanFilm({ ...scan, glass })
    let sum = 0
    for (const code of codes) sum += code
    const seen = -Math.log10((sum / (width * height) - 300) / 60_000)
    expectWithin(seen, 3 * 1.02, { abs: 0.01, unit: 'D', because: 'half a code is 0.004 D here' })
  })

  it('noise has the asked spread, no lean, no memory, and comes back with the same seed', () => {
    const scan = bed({ ...solid, baseDensity: 0.3 }, { readNoise: 10, shotNoise: 100 }, 0)
    const { codes, width, height } = scanFilm(scan)
    const mean = meanCode(scan.scanner, 10 ** -0.3)
    const sigma = Math.sqrt(100 + 100 * 100 * ((mean - 300) / 60_000))
    let sum = 0
    let squares = 0
    let next = 0
    let below = 0
    const n = width * height
    for (let i = 0; i < n; i++) {
      const off = codes[i]! - mean
      sum += off
      squares += off * off
      if (i > 0) next += off * (codes[i - 1]! - mean)
      if (i >= width) below += off * (codes[i - width]! - mean)
    }
    const because = `five standard errors of ${n} pixels`
    expectWithin(sum / n, 0, { abs: (5 * sigma) / Math.sqrt(n), unit: 'codes', because })
    expectWithin(Math.sqrt(squares / n) / sigma, 1, { abs: 5 / Math.sqrt(2 * n), unit: '', because })
    expectWithin(next / squares, 0, { abs: 5 / Math.sqrt(n), unit: '', because })
    expectWithin(below / squares, 0, { abs: 5 / Math.sqrt(n), unit: '', because })
    expect(scanFilm(scan).codes).toEqual(codes)
    expect(scanFilm({ ...scan, seed: 6 }).codes).not.toEqual(codes)
  })

  it('codes are clipped to 0..65535', () => {
    const bright = scanFilm(bed({ ...solid, baseDensity: 0 }, { gain: 80_000 }, 0)).codes
    expect(bright.every(code => code === 65_535)).toBe(true)
    const dark = scanFilm(bed({ ...solid, baseDensity: 8 }, { black: -50, readNoise: 5 }, 0)).codes
    expect(dark.every(code => code === 0)).toBe(true)
  })
})

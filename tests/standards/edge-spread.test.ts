import { tmpdir } from 'node:os'
import { describe, expect, it } from 'vitest'
import { openScan } from '../../src/decode/open-scan.js'
import { type EdgeSpread, superSampleEdge } from '../../src/imaging/edge-spread.js'
import { lightField } from '../../src/imaging/light-field.js'
import { normalCdf, normalQuantile } from '../../src/imaging/normal.js'
import { riseWidth } from '../../src/imaging/rise-width.js'
import type { StraightEdge } from '../../src/imaging/straight-edges.js'
import { responseFrequency } from '../support/edge-response.js'
import { expectWithin } from '../support/expect-within.js'
import { memoryScan } from '../support/memory-scan.js'
import { haveSharedData, SHARED_DATA } from '../support/shared-data.js'

const LINEAR = Float32Array.from({ length: 65536 }, (_, code) => code / 65535)

/** An exact profile as the super-sampler would hand it over: fine bins, no noise. */
function exactProfile(esf: (x: number) => number, reach: number): EdgeSpread {
  const binUm = reach / 400
  const distance = Float64Array.from({ length: 801 }, (_, i) => (i - 400) * binUm)
  return {
    distance,
    light: distance.map(esf),
    count: new Float64Array(801).fill(100),
    binUm,
    clear: 1,
    dark: 0,
    clearNoise: 1e-9,
    darkNoise: 1e-9,
  } as EdgeSpread
}

/** z times the normal distribution function plus the normal density: the integral of the distribution function. */
const integral = (z: number) => z * normalCdf(z) + Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)

describe('10-90 % rise widths in closed form', () => {
  it('Gaussian of sigma 1: 2.563103 (closed form; e-SFR literature, ISO 12233 manner)', () => {
    expectWithin(2 * normalQuantile(0.9), 2.563103, { abs: 1e-6, unit: 'um', because: 'closed form' })
    expectWithin(riseWidth(exactProfile(x => normalCdf(x), 6))!.width, 2.563103, {
      abs: 2e-4,
      unit: 'um',
      because: 'a parabola over a fifth of the rise',
    })
  })

  it('slit of 21.1667 um: 0.8 of its width, 16.9333 um (closed form)', () => {
    const slit = (x: number) => Math.min(1, Math.max(0, x / 21.1667 + 0.5))
    expectWithin(riseWidth(exactProfile(slit, 60))!.width, 16.9333, { abs: 1e-3, unit: 'um', because: 'closed form' })
  })

  it.each([
    [21.1667, 10, 30.19],
    [10.5833, 10, 26.814],
    [42.3333, 20, 60.38],
    [10.5833, 5, 15.095],
  ])('slit %f um with Gaussian %f um: %f um (integral of the normal distribution; computed)', (slit, sigma, wanted) => {
    const esf = (x: number) => (sigma / slit) * (integral((x + slit / 2) / sigma) - integral((x - slit / 2) / sigma))
    expectWithin(riseWidth(exactProfile(esf, 6 * sigma))!.width, wanted, {
      abs: 1e-3,
      unit: 'um',
      because: 'a parabola over a fifth of the rise',
    })
  })

  it('exponential line spreads: 2.197225 one-sided, 3.218876 two-sided (closed form)', () => {
    const one = (x: number) => (x < 0 ? 0 : 1 - Math.exp(-x))
    const two = (x: number) => (x < 0 ? 0.5 * Math.exp(x) : 1 - 0.5 * Math.exp(-x))
    expectWithin(riseWidth(exactProfile(one, 12))!.width, Math.log(9), {
      abs: 0.03,
      unit: 'um',
      because: 'the 10 % crossing lies beside the corner of the exponential, which a parabola rounds',
    })
    expectWithin(riseWidth(exactProfile(two, 12))!.width, 2 * Math.log(5), {
      abs: 0.01,
      unit: 'um',
      because: 'a parabola over a fifth of the rise',
    })
  })
})

describe('e-SFR on a rendered edge (ISO 12233:2014, 6.2): 100 x 100 pixels, 5 degrees', () => {
  // Expected values: exp(-2 pi^2 sigma^2 f^2) sinc f = 0.5 for the response; slit with Gaussian for the rise.
  it.each([
    [0.8, 2.18, 0.2201],
    [1.0, 2.668, 0.18],
    [1.5, 3.915, 0.1227],
  ])(
    'sigma %f px: rise %f px within two percent, response halves at %f cycles a pixel within one',
    (sigma, rise, half) => {
      const size = 100
      const angle = (5 * Math.PI) / 180
      const codes = new Uint16Array(size * size)
      for (let r = 0; r < size; r++)
        for (let c = 0; c < size; c++) {
          let sum = 0
          for (let i = 0; i < 64; i++) {
            const x = c + ((i & 7) + 0.5) / 8 - 0.5
            const y = r + ((i >> 3) + 0.5) / 8 - 0.5
            sum += normalCdf(((x - 50) * Math.cos(angle) + (y - 50) * Math.sin(angle)) / sigma)
          }
          codes[r * size + c] = Math.round(5000 + (55000 * sum) / 64)
        }
      const slope = Math.tan(angle)
      const edge: StraightEdge = {
        from: { column: 50 + 45 * slope, row: 5 },
        to: { column: 50 - 45 * slope, row: 95 },
        direction: 'across',
        clearSide: 'after',
        lengthPx: 90,
        clearPx: 40,
        darkPx: 40,
      }
      const field = lightField(memoryScan(codes, size, size, 1200), LINEAR, { across: 1, along: 1 })
      const spread = superSampleEdge(field, edge, { clearUm: 40, darkUm: 40 })
      if ('refused' in spread) throw new Error(spread.refused)
      expectWithin(riseWidth(spread)!.width, rise, {
        abs: 0.02 * rise,
        unit: 'px',
        because: 'ISO 12233 bins; stated with the check',
      })
      expectWithin(responseFrequency(spread, 0.5), half, {
        abs: 0.01 * half,
        unit: 'cycles/px',
        because: 'stated with the check',
      })
      expectWithin(spread.tilt, 5, { abs: 0.02, unit: 'degrees', because: '90 scan lines, no noise' })
    },
  )
})

describe.skipIf(!haveSharedData)(
  'a published slanted edge (needs the shared data; BSD-3-Clause example of an ISO 12233 program)',
  () => {
    it('response halves at 0.269805 cycles a pixel within 5 %, the straight-line tolerance', async () => {
      // Luminance as published: 0.213, 0.715, 0.072 of the three channels; codes taken as linear.
      const planes = await Promise.all(
        (['red', 'green', 'blue'] as const).map(async channel => {
          const scan = await openScan(`${SHARED_DATA}slanted-edge/Test_edge1.tif`, { channel, tempDir: tmpdir() })
          const { width, height } = scan.header
          const { codes } = scan.readWindow({ column: 0, row: 0, width, height })
          scan.close()
          return { codes, width, height }
        }),
      )
      const { width, height } = planes[0]!
      const codes = Uint16Array.from(planes[0]!.codes, (red, i) =>
        Math.round(0.213 * red + 0.715 * planes[1]!.codes[i]! + 0.072 * planes[2]!.codes[i]!),
      )
      // Ends of the edge from the first and last columns, good to a pixel; the rest is the code under test.
      const place = (column: number) => {
        for (let row = 1; row < height; row++)
          if (codes[row * width + column]! > 115 * 257 !== codes[column]! > 115 * 257) return row
        throw new Error('no edge in this column')
      }
      const room = 44
      const spread = superSampleEdge(
        lightField(memoryScan(codes, width, height, 300), LINEAR, { across: 1, along: 1 }),
        {
          from: { column: 8, row: place(8) },
          to: { column: width - 9, row: place(width - 9) },
          direction: 'along',
          clearSide: codes[0]! > codes[codes.length - 1]! ? 'before' : 'after',
          lengthPx: width - 17,
          clearPx: room,
          darkPx: room,
        },
        { clearUm: room, darkUm: room },
      )
      if ('refused' in spread) throw new Error(spread.refused)
      expectWithin(spread.tilt, 5.47, { abs: 0.1, unit: 'degrees', because: 'found independently from row centroids' })
      // Shifted onto the common profile, no scan line lies further than this from a straight line, so a straight line was kept.
      expect(Math.max(...spread.shifts.map(Math.abs))).toBeLessThan(0.12)
      expect(spread.sagUm).toBeLessThan(0.05)
      expectWithin(responseFrequency(spread, 0.5, 4), 0.269805, {
        abs: 0.05 * 0.269805,
        unit: 'cycles/px',
        because: 'asked of a straight-line fit; an independent straight fit gave 0.2796',
      })
    })
  },
)

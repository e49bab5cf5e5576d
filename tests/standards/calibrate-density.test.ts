import { describe, expect, it } from 'vitest'
import { noiseLimitedDensity } from '../../src/calibrate/deepest-density.js'
import { unknownLightScale } from '../../src/calibrate/light-scale.js'
import { boxedEdge, shapeRise } from '../../src/calibrate/line-spread.js'
import { fitPower } from '../../src/calibrate/response-curve.js'
import { fitLeastSquares } from '../../src/imaging/fit-least-squares.js'
import { expectWithin } from '../support/expect-within.js'

/** Published grey-scale readings of a flatbed: UIUC Imaging Technology Group, Technical Report 98-007 (checks T10). */
const PIXEL_VALUES = [
  53988.92, 39777.25, 29026.15, 21050.88, 15321.55, 11453.41, 8532.39, 6165.75, 4654.62, 3466.13, 2626.01, 2011.48,
]
const TRUE_DENSITIES = [0.04, 0.14, 0.24, 0.34, 0.44, 0.54, 0.63, 0.74, 0.84, 0.94, 1.04, 1.14]

describe('density from transmittance (ISO 5-1, ISO 5-2: D = -log10 T)', () => {
  it('T01: gives the tabled densities of T 1 to 1e-4', () => {
    const scale = unknownLightScale(65535)
    const table: [number, number][] = [
      [1, 0],
      [0.9, 0.045757],
      [0.8, 0.09691],
      [0.5, 0.30103],
      [0.25, 0.60206],
      [0.1, 1],
      [0.01, 2],
      [0.001, 3],
      [3.16228e-4, 3.5],
      [1e-4, 4],
    ]
    for (const [light, density] of table)
      expectWithin(scale.density(65535 * light, 0).density, density, { abs: 1e-6, unit: 'D', because: 'T01' })
  })

  it('T02: two equal areas of D 0.05 and 4.05 are D 0.350987 together, not 2.05', () => {
    const scale = unknownLightScale(65535)
    const mean = (scale.code(10 ** -0.05) + scale.code(10 ** -4.05)) / 2
    expectWithin(scale.density(mean, 0).density, 0.350987, { abs: 1e-5, unit: 'D', because: 'T02: light is averaged' })
  })

  it('T03: an error of 5 codes of 65535 is 0.0331, 0.1048 and 0.3313 D at D 3, 3.5 and 4 (JCGM 100, 5.1.2)', () => {
    const scale = unknownLightScale(65535)
    for (const [density, wanted] of [
      [3, 0.0331],
      [3.5, 0.1048],
      [4, 0.3313],
    ] as const) {
      const noise = scale.density(65535 * 10 ** -density, 5).budget.find(c => c.name === 'noise')!
      expectWithin(noise.standard, wanted, { abs: 1e-3, unit: 'D', because: 'T03' })
    }
  })
})

describe('tone response of a published scanner (UIUC ITG Technical Report 98-007)', () => {
  it('T10: D = 0.7394 log10(60000 / (pv - 275)) gives the published densities, within 0.010 of the true ones', () => {
    const published = [0.0355, 0.1342, 0.2362, 0.3405, 0.4441, 0.5396, 0.6368, 0.7453, 0.8405, 0.9421, 1.0402, 1.1375]
    for (let i = 0; i < PIXEL_VALUES.length; i++) {
      const density = 0.7394 * Math.log10(60000 / (PIXEL_VALUES[i]! - 275))
      expectWithin(density, published[i]!, { abs: 2e-4, unit: 'D', because: 'T10' })
      expectWithin(density, TRUE_DENSITIES[i]!, { abs: 0.01, unit: 'D', because: 'T10, the report’s own claim' })
    }
  })

  it('T11: least squares of log10(pv) gives o = 395.1 (31), A = 61132 (309), k = 1.3827 (0.0067)', () => {
    const fit = fitLeastSquares(
      ([o, a, k]) => TRUE_DENSITIES.map((d, i) => Math.log10(o! + a! * 10 ** (-k! * d)) - Math.log10(PIXEL_VALUES[i]!)),
      [275, 60000, 1.35],
      [100, 60000, 1],
      p => p[0]! + p[1]! * 10 ** (-p[2]! * 1.14) > 0,
    )
    expectWithin(fit.parameters[0]!, 395.1, { abs: 1, unit: 'codes', because: 'T11' })
    expectWithin(fit.parameters[1]!, 61132, { abs: 20, unit: 'codes', because: 'T11' })
    expectWithin(fit.parameters[2]!, 1.3827, { abs: 0.001, unit: '1', because: 'T11' })
    const scale = Math.sqrt(fit.chiSquare / fit.freedom)
    const errors = fit.covariance.map((row, i) => Math.sqrt(row[i]!) * scale)
    expectWithin(errors[0]!, 31, { abs: 0.5, unit: 'codes', because: 'T11, given to the unit' })
    expectWithin(errors[1]!, 309, { abs: 1, unit: 'codes', because: 'T11, given to the unit' })
    expectWithin(errors[2]!, 0.0067, { abs: 5e-5, unit: '1', because: 'T11, given to 1e-4' })
  })

  it('T11: the calibration fit sees the same exponent and does not claim to know the offset better than that', () => {
    const fit = fitPower(
      PIXEL_VALUES.map((code, i) => ({ density: TRUE_DENSITIES[i]!, densityError: 0.005, code, codeError: 1 })),
    )
    expectWithin(1 / fit.gamma, 1.3827, {
      abs: 0.03,
      unit: '1',
      because: 'other weights than T11; its own error is 0.007',
    })
    expect(fit.blackError).toBeGreaterThan(31)
    expect(Math.abs(fit.black - 395)).toBeLessThan(2 * fit.blackError)
  })
})

describe('limits that noise sets', () => {
  it('T12: noise of 20 codes of 65535 is D 3.5154 at a signal to noise of 1', () => {
    expectWithin(noiseLimitedDensity(20), 3.5154, { abs: 1e-4, unit: 'D', because: 'T12' })
    expect(() => noiseLimitedDensity(0)).toThrow(RangeError)
  })
})

describe('rise widths of the edge model in closed form', () => {
  it('T13: a step blurred by a Gaussian of sigma 1 rises from 10 to 90 % in 2.563103', () => {
    const shape = { place: 0, sigma: 1, wideSigma: 1, wideWeight: 0 }
    expectWithin(shapeRise(shape, 1e-3), 2.563103, {
      abs: 1e-6,
      unit: 'sigma',
      because: 'T13; the box of 0.001 adds 1e-7',
    })
  })

  it('T17: a pixel and a Gaussian together: 30.190, 26.814, 60.380, 15.095 um', () => {
    for (const [box, sigma, wanted] of [
      [21.1667, 10, 30.19],
      [10.5833, 10, 26.814],
      [42.3333, 20, 60.38],
      [10.5833, 5, 15.095],
    ] as const)
      expectWithin(shapeRise({ place: 0, sigma, wideSigma: sigma, wideWeight: 0 }, box), wanted, {
        abs: 1e-3,
        unit: 'um',
        because: 'T17',
      })
    expectWithin(boxedEdge(0, 10, 21), 0.5, { abs: 1e-9, unit: '1', because: 'symmetry' })
  })
})

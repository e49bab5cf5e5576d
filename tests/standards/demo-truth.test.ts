import { describe, it } from 'vitest'
import { gaussianCdf, gaussianQuantile } from '../../src/demo/gaussian.js'
import { densityContour, filmRise, lightContour, placeOf, riseOf, spreadStep } from '../../src/demo/truth.js'
import { expectWithin } from '../support/expect-within.js'

const exact = { abs: 1e-6, unit: 'sigma', because: 'closed form' }

describe('truth of the synthetic films against published values', () => {
  it('T13: a step under a Gaussian rises over 2.563103 sigma, and the Gaussian is 2.354820 sigma wide at half height', () => {
    expectWithin(
      riseOf(x => spreadStep({ sigmaUm: 1, boxesUm: [0, 0] }, x), -9, 9),
      2.563103,
      exact,
    )
    expectWithin(gaussianQuantile(0.9) - gaussianQuantile(0.1), 2.563103, exact)
    const slope = (x: number) => (gaussianCdf(x + 5e-4) - gaussianCdf(x - 5e-4)) / 1e-3
    const half = placeOf(slope, slope(0) / 2, 0, 5)
    expectWithin(2 * half, 2.35482, { abs: 1e-6, unit: 'sigma', because: 'central difference of 0.001' })
  })

  it('T14: a slit of 21.1667 um rises over 16.9333 um', () => {
    const spread = { sigmaUm: 0, boxesUm: [21.1667, 0] } as const
    expectWithin(
      riseOf(x => spreadStep(spread, x), -20, 20),
      16.9333,
      { abs: 1e-3, unit: 'um', because: '0.8 of the slit' },
    )
  })

  it('T15: one-sided and two-sided exponential spreads rise over 2.197225 and 3.218876', () => {
    const oneSided = (x: number) => (x > 0 ? 1 - Math.exp(-x) : 0)
    const twoSided = (x: number) => (x > 0 ? 1 - Math.exp(-x) / 2 : Math.exp(x) / 2)
    expectWithin(riseOf(oneSided, -60, 60), 2.197225, exact)
    expectWithin(riseOf(twoSided, -60, 60), 3.218876, exact)
  })

  it.each([
    [21.1667, 10, 30.19],
    [10.5833, 10, 26.814],
    [42.3333, 20, 60.38],
    [10.5833, 5, 15.095],
  ])('T17: a slit of %d um with a Gaussian of %d um rises over %d um', (slit, sigmaUm, wanted) => {
    expectWithin(
      riseOf(x => spreadStep({ sigmaUm, boxesUm: [slit, 0] }, x), -300, 300),
      wanted,
      { abs: 1e-3, unit: 'um', because: 'closed form, printed to 0.001' },
    )
  })

  it.each([
    [4.05, 2.5, 26.98],
    [3.05, 2.5, 27.582],
    [4.05, 3.5, 31.009],
  ])('T21: light edge of 10 um, base 0.05, solid %d: contours of limit %d are %d um apart', (solid, limit, wanted) => {
    const clear = 10 ** -0.05
    const dark = 10 ** -solid
    const light = (x: number) => dark + (clear - dark) * spreadStep({ sigmaUm: 10, boxesUm: [0, 0] }, x)
    const at = (net: number) => placeOf(light, 10 ** -(0.05 + net), -80, 80)
    expectWithin(at(0.1 * limit) - at(0.9 * limit), wanted, {
      abs: 1e-2,
      unit: 'um',
      because: 'row T21 is printed to 0.001',
    })
  })

  it.each([
    [2, 1.03423, 1.99762],
    [3, 1.2796, 1.73274],
    [3.5, 1.36575, 1.65807],
    [4, 1.43771, 1.60096],
  ])('T43: density edge of net %d: half light %d sigma out, light rises over %d sigma', (net, half, rise) => {
    const edge = { baseDensity: 0, netDensity: net, inkSpreadUm: 1 }
    const at = (light: number) => densityContour(edge, -Math.log10(light))
    const printed = { abs: 1e-4, unit: 'sigma', because: 'row T43 is printed to 0.00001' }
    expectWithin(-at(0.5), half, printed)
    expectWithin(at(0.1) - at(0.9), rise, printed)
    // T43 counts from no light at all, the film's rise from the light of its solid: at D 4 hardly another thing.
    expectWithin(filmRise(edge) / (at(0.1) - at(0.9)), 1, {
      abs: 5 * 10 ** -net,
      unit: '',
      because: 'the solid passes 10^-net of the light, which moves the 10 % contour most',
    })
    expectWithin(lightContour(edge, 0.5), at(0.5), {
      abs: 2 * 10 ** -net,
      unit: 'sigma',
      because: 'the same, at half light',
    })
  })
})

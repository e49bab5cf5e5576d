import { describe, expect, it } from 'vitest'
import {
  densityContour,
  diffusedSpread,
  edgeTransmittance,
  filmRise,
  fringeWidth,
  halfLightShift,
  lightContour,
  placeOf,
  riseOf,
  scannedEdge,
  spreadAlongNormal,
  spreadForRise,
} from '../../../src/demo/truth.js'
import { expectWithin } from '../../support/expect-within.js'

const edge = { baseDensity: 0.06, netDensity: 3.4, inkSpreadUm: 20 }
const tight = { abs: 1e-6, unit: 'um', because: 'two ways to the same number' }

describe('truth of a film edge', () => {
  it('closed form and bisection of the profile agree', () => {
    const profile = (x: number) => edgeTransmittance(edge, x)
    expectWithin(riseOf(profile, -160, 160), filmRise(edge), tight)
    const half = (profile(-160) + profile(160)) / 2
    expectWithin(-placeOf(profile, half, -160, 160), halfLightShift(edge), tight)
    expectWithin(placeOf(profile, 10 ** -(0.06 + 1.7), -160, 160), densityContour(edge, 1.7), tight)
  })

  it('scales with the ink spread, and is turned round by spreadForRise', () => {
    const twice = { ...edge, inkSpreadUm: 40 }
    expectWithin(filmRise(twice), 2 * filmRise(edge), tight)
    expectWithin(fringeWidth(twice, 0.3, 2.7)!, 2 * fringeWidth(edge, 0.3, 2.7)!, tight)
    expectWithin(filmRise({ ...edge, inkSpreadUm: spreadForRise(60, 0.06, 3.4) }), 60, tight)
  })

  it('the light edge lies outside the artwork', () => {
    expect(halfLightShift(edge)).toBeGreaterThan(edge.inkSpreadUm)
    expect(lightContour(edge, 0.9)).toBeLessThan(lightContour(edge, 0.1))
  })

  it('has no fringe width where the solid does not reach the contour, on either side of its edge', () => {
    expect(fringeWidth(edge, 0.3, 3.4)).toBeNull()
    expect(fringeWidth(edge, 0.3, 3.399)).toBeGreaterThan(0)
    expect(() => fringeWidth(edge, 0, 2.7)).toThrow('0 < low < high')
    expect(() => densityContour(edge, 3.4)).toThrow('between 0 and 3.4')
  })

  it('diffuses by sigma^2 = sigma0^2 + 2 D t', () => {
    expectWithin(diffusedSpread(5, 1e-4, 28 * 86_400), 22.5575, {
      abs: 1e-3,
      unit: 'um',
      because: 'checks T41, printed to 0.0001',
    })
    expect(diffusedSpread(18, 1e-4, 0)).toBe(18)
  })

  it('a scanner only widens the edge, and a hard edge under a scanner is the scanner', () => {
    const spread = spreadAlongNormal(3, { across: 10, along: 14 }, { across: 21.17, along: 21.17 })
    expectWithin(spread.sigmaUm, 10, { abs: 0.02, unit: 'um', because: '3 degrees off the row' })
    expectWithin(spread.boxesUm[1], 21.17 * Math.sin((3 * Math.PI) / 180), tight)
    const seen = scannedEdge(edge, spread)
    expect(riseOf(seen, -300, 300)).toBeGreaterThan(filmRise(edge))
    const knife = riseOf(scannedEdge({ ...edge, inkSpreadUm: 0 }, spread), -300, 300)
    const nearlyHard = riseOf(scannedEdge({ ...edge, inkSpreadUm: 0.01 }, spread), -300, 300)
    expectWithin(nearlyHard, knife, { abs: 0.01, unit: 'um', because: 'ink spread of 0.01 um' })
  })

  it('refuses a value the profile does not take', () => {
    expect(() => placeOf(x => x, 2, 0, 1)).toThrow('between 0 and 1; got 2')
    expect(placeOf(x => x, 1, 0, 1)).toBeCloseTo(1, 9)
  })
})

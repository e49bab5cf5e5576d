import { describe, expect, it } from 'vitest'
import { flareLightError } from '../../../src/calibrate/flare-light.js'
import { withoutFlare } from '../../../src/calibrate/flare-scale.js'
import type { DemoScanner } from '../../../src/demo/scanner.js'
import type { Flare } from '../../../src/model/calibration.js'
import { linearLight } from '../../support/bare-scan.js'
import { calibratedScanner } from '../../support/calibrated-scanner.js'
import { expectWithin } from '../../support/expect-within.js'

const scanner = (flare: number): DemoScanner => ({
  maker: 'Tidewater',
  model: 'flatbed-r',
  dpi: 600,
  scaleErrorAcross: 0,
  scaleErrorAlong: 0,
  blurAcrossUm: 14,
  blurAlongUm: 16,
  black: 250,
  gain: 60_000,
  gamma: 1,
  veil: 0,
  readNoise: 10,
  shotNoise: 150,
  flare,
  flareReachMm: 10,
  shading: 0,
  lamp: 1,
})

describe('flare told apart from black', () => {
  const without = calibratedScanner(scanner(0), 11, { holder: { side: 'left', widthMm: 6 }, stepMm: 5 })
  const flared = calibratedScanner(scanner(0.003), 11, { holder: { side: 'left', widthMm: 6 }, stepMm: 5 })

  it('finds none where there is none, and how surely', () => {
    expectWithin(without.flare!.share, 0, { abs: 3e-5, unit: 'of open light', because: 'below what any film shows' })
    expect(without.flare!.standard).toBeLessThan(1e-4)
    expectWithin(without.response.black, 250, { abs: 1.5, unit: 'codes', because: 'the drift allowed for black' })
  })

  it('finds 0.3 %, and a black that does not hold it', () => {
    expectWithin(flared.flare!.share, 0.003, {
      abs: 1e-4,
      unit: 'of open light',
      because: 'the kernel lies between those tried; 0.003 of 3.3 % at D 3',
    })
    // Taken as black, 0.3 % of flare in half-lit surroundings would be some 90 codes.
    expectWithin(flared.response.black, 250, { abs: 3, unit: 'codes', because: 'two drifts of black' })
  })

  it('says how well it is known where the surroundings differ from the tablet’s', () => {
    const { flare, steps } = flared
    const last = steps.at(-1)!.surround!
    const bright = last.map(() => 0.95)
    expect(flareLightError(flare!, last, last)).toBe(flare!.remainder)
    expect(flareLightError(flare!, bright, last)).toBeGreaterThan(flare!.remainder)
    // A solid of D 3 must not become unsure by more than a twentieth of its light.
    expect(flareLightError(flare!, bright, last)).toBeLessThan(5e-5)
  })
})

const known = (share: number, variance: number): Flare => ({
  share,
  standard: Math.sqrt(variance),
  reaches: [{ shape: 'gaussian', sigmaUm: 5000, outside: 'rim' }],
  shares: [share],
  covariance: [[variance]],
  remainder: 0,
})
const tablet = (surround: number) => [{ density: 3, surround: [surround] }]

describe('withoutFlare', () => {
  it('is exact when share and surroundings are', () => {
    const scale = withoutFlare(linearLight(), known(0.002, 0), tablet(0.7))
    for (const density of [0.1, 1, 2])
      for (const surround of [0.2, 0.9]) {
        const code = (60_000 * (10 ** -density + 0.002 * surround)) / 1.002
        expectWithin(scale.density(code, 0, [surround]).density, density, {
          abs: 1e-9,
          unit: 'D',
          because: 'closed form',
        })
      }
  })

  it('gives a bound where what flare may be hides the film', () => {
    const scale = withoutFlare(linearLight(6), known(0.002, 1e-8), tablet(0))
    const code = (60_000 * (10 ** -4 + 0.002 * 0.9)) / 1.002
    const read = scale.density(code, 0, [0.9])
    expect(read.bound).toBe('atLeast')
    expect(read.density).toBeLessThan(4)
    expect(read.density).toBeGreaterThan(2.5)
  })

  it('where none was found leaves the density and widens U where the surroundings differ', () => {
    const scale = withoutFlare(linearLight(6), known(0, 1e-8), tablet(0.7))
    const same = scale.density(600, 0.1, [0.7])
    const other = scale.density(600, 0.1, [0.2])
    expect(other.density).toBe(same.density)
    expect(other.standard).toBeGreaterThan(same.standard)
    expect(other.budget.at(-1)!.name).toBe('flare')
  })

  it('a bound holds though the film lies darker than the tablet lay, whose flare hides in the curve’s black', () => {
    const scale = withoutFlare(linearLight(6), known(0, 1e-8), tablet(0.9))
    // True light 1e-4 seen as 3e-5: the curve took 7e-5 too much off.
    const read = scale.density(60_000 * 3e-5, 0, [0.1])
    expect(read.bound).toBe('atLeast')
    expect(read.density).toBeLessThan(4)
  })
})

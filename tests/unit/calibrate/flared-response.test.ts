import { describe, expect, it } from 'vitest'
import { withoutFlare } from '../../../src/calibrate/flare-scale.js'
import { lightScale } from '../../../src/calibrate/light-scale.js'
import type { DemoScanner } from '../../../src/demo/scanner.js'
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
    expect(without.flare!.share).toBe(0)
    expect(without.flare!.standard).toBeLessThan(1e-4)
    expectWithin(without.response.black, 250, { abs: 1.5, unit: 'codes', because: 'the drift allowed for black' })
  })

  it('finds 0.3 %, and a black that does not hold it', () => {
    expectWithin(flared.flare!.share, 0.003, {
      abs: 6e-4,
      unit: 'of open light',
      because: 'the kernel’s shape is not known',
    })
    // Taken as black, 0.3 % of flare in half-lit surroundings would be some 90 codes.
    expectWithin(flared.response.black, 250, { abs: 25, unit: 'codes', because: 'a fifth of the flare’s own share' })
  })

  it('reads a film in other surroundings than the tablet’s (relation: what flare adds is taken off again)', () => {
    const scale = lightScale(flared)
    for (const surround of [0.3, 0.6, 0.87]) {
      const light = 10 ** -2.5
      const code = 250 + (60_000 * (light + 0.003 * surround)) / 1.003
      const read = scale.density(code, 0.3, surround)
      expectWithin(read.density, 2.5, { abs: 0.06, unit: 'D', because: 'a share off by a tenth, at D 2.5' })
      expect(Math.abs(read.density - 2.5)).toBeLessThan(2 * read.standard)
    }
  })
})

describe('withoutFlare', () => {
  it('is exact when share and surroundings are', () => {
    const scale = withoutFlare(linearLight(), { share: 0.002, standard: 0, kernelUm: 5000 }, 0.7)
    for (const density of [0.1, 1, 2])
      for (const surround of [0.2, 0.9]) {
        const code = (60_000 * (10 ** -density + 0.002 * surround)) / 1.002
        expectWithin(scale.density(code, 0, surround).density, density, {
          abs: 1e-9,
          unit: 'D',
          because: 'closed form',
        })
      }
  })

  it('gives a bound where what flare may be hides the film', () => {
    const scale = withoutFlare(linearLight(6), { share: 0.002, standard: 1e-4, kernelUm: 5000 }, 0.7)
    const code = (60_000 * (10 ** -4 + 0.002 * 0.9)) / 1.002
    const read = scale.density(code, 0, 0.9)
    expect(read.bound).toBe('atLeast')
    expect(read.density).toBeLessThan(4)
    expect(read.density).toBeGreaterThan(2.5)
  })

  it('without a known flare leaves the density and widens U where the surroundings differ', () => {
    const scale = withoutFlare(linearLight(6), null, 0.7)
    const same = scale.density(600, 0.1, 0.7)
    const other = scale.density(600, 0.1, 0.2)
    expect(other.density).toBe(same.density)
    expect(other.standard).toBeGreaterThan(same.standard)
    expect(other.budget.at(-1)!.name).toBe('flare')
  })
})

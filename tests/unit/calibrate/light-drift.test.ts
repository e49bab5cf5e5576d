import { describe, expect, it } from 'vitest'
import { lightDrift, withoutDrift } from '../../../src/calibrate/light-drift.js'
import type { Calibration } from '../../../src/model/calibration.js'
import { linearLight } from '../../support/bare-scan.js'
import { expectWithin } from '../../support/expect-within.js'

const calibration = (openLight: Calibration['openLight']) => ({ openLight }) as Calibration
const open = { code: 60_000, clippedShare: 0, pixelNoise: 50 }

describe('lightDrift', () => {
  it('is the open light of the scan over that of the calibration', () => {
    expectWithin(lightDrift(calibration(open), linearLight(), 0.97)!.factor, 0.97, {
      abs: 1e-4,
      unit: '',
      because: 'codes are whole',
    })
  })

  it('is nothing without open light on both sides, or with a clipped one', () => {
    expect(lightDrift(calibration(open), linearLight(), null)).toBeNull()
    expect(lightDrift(calibration(null), linearLight(), 1)).toBeNull()
    expect(lightDrift(calibration({ ...open, clippedShare: 0.0011 }), linearLight(), 1)).toBeNull()
    expect(lightDrift(calibration({ ...open, clippedShare: 0.001 }), linearLight(), 1)).not.toBeNull()
  })

  it('a larger drift is corrected with a larger uncertainty', () => {
    const u = (light: number) => lightDrift(calibration(open), linearLight(), light)!.standard
    expect(u(0.96)).toBeGreaterThan(u(1))
  })
})

describe('withoutDrift', () => {
  const scale = withoutDrift(linearLight(), { factor: 0.97, standard: 0.004 })

  it('gives a film its density back when the lamp is dimmer', () => {
    for (const density of [0.05, 1, 3]) {
      const code = 60_000 * 0.97 * 10 ** -density
      expectWithin(scale.density(code, 0).density, density, { abs: 1e-6, unit: 'D', because: 'closed form' })
      expectWithin(-Math.log10(scale.transmittance[Math.round(code)]!), density, {
        abs: 0.004,
        unit: 'D',
        because: 'whole codes',
      })
      expectWithin(scale.code(10 ** -density), code, { abs: 1e-6 * code, unit: 'codes', because: 'inverse' })
    }
  })

  it('moves the deepest density along and names itself in the budget', () => {
    expectWithin(scale.deepest!, 3.5 + Math.log10(0.97), { abs: 1e-9, unit: 'D', because: 'closed form' })
    const estimate = scale.density(600, 1)
    expect(estimate.budget.at(-1)!.name).toBe('light drift')
    expectWithin(Math.hypot(...estimate.budget.map(c => c.standard)), estimate.standard, {
      abs: 1e-12,
      unit: 'D',
      because: 'quadrature',
    })
  })
})

import { describe, expect, it } from 'vitest'
import { spreadAtPitch } from '../../../src/calibrate/spread-at-pitch.js'
import type { LineSpread } from '../../../src/model/calibration.js'
import { expectWithin } from '../../support/expect-within.js'

/** Optics of 12 um and a 1200 dpi pixel: rise by the variance rule, 2.5631 sqrt(12^2 + 21.17^2 / 12). */
const spread: LineSpread = { riseWidth: 34.51, riseWidthExpanded: 0.5, stepUm: 1, weights: [0.2, 0.6, 0.2] }

describe('spreadAtPitch', () => {
  it('keeps the optics and changes the pixel, with a wider uncertainty', () => {
    for (const dpi of [600, 2400]) {
      const pitch = 25_400 / dpi
      const moved = spreadAtPitch(spread, 25_400 / 1200, pitch)
      const wanted = 2.5631 * Math.sqrt(12 ** 2 + pitch ** 2 / 12)
      expectWithin(moved.riseWidth, wanted, { abs: 0.05, unit: 'um', because: 'variances add' })
      expect(moved.riseWidthExpanded).toBeGreaterThan(0.5 * Math.abs(moved.riseWidth - spread.riseWidth))
      expect(moved.stepUm / spread.stepUm).toBeCloseTo(moved.riseWidth / spread.riseWidth, 9)
    }
  })

  it('leaves the spread alone at its own pitch, and never goes below a pixel', () => {
    expect(spreadAtPitch(spread, 21.17, 21.4)).toBe(spread)
    expect(spreadAtPitch({ ...spread, riseWidth: 5 }, 42.3, 21.17).riseWidth).toBeCloseTo(0.8 * 21.17, 6)
  })
})

import { describe, expect, it } from 'vitest'
import { scaleErrors } from '../../../src/measure/scale-errors.js'

const steps = Array.from({ length: 21 }, (_, i) => ({
  density: 0.05 + 0.15 * i,
  standard: 0.01,
  own: 0.01 * Math.SQRT1_2,
}))
const errors = scaleErrors(steps)
/** Change of density at a density. */
const offAt = (k: number, density: number) => -errors[k]!(10 ** -density) / 10 ** -density / Math.LN10

describe('scaleErrors', () => {
  it('has one error for each step down to D 2 and one common to all', () => {
    expect(errors).toHaveLength(steps.filter(step => step.density <= 2).length + 1)
    expect(scaleErrors([])).toEqual([])
  })

  it('moves the scale at its own step, by half of the variance, and at no other', () => {
    expect(offAt(3, 0.5)).toBeCloseTo(0.01 * Math.SQRT1_2, 6)
    for (const density of [0, 0.05, 0.35, 0.65, 1.1]) expect(offAt(3, density)).toBeCloseTo(0, 6)
    expect(Math.abs(offAt(3, 0.575))).toBeGreaterThan(0.002)
  })

  it('moves the scale as the smoothed one gives way, where it is told how', () => {
    const spread = [0, 0.3, 0.4, 0.3, ...steps.slice(3).map(() => 0)]
    const [, second] = scaleErrors(steps.map((step, k) => (k === 1 ? { ...step, spread } : step)))
    const off = (density: number) => -second!(10 ** -density) / 10 ** -density / Math.LN10
    for (const [density, share] of [
      [0, 0],
      [0.05, 0.3],
      [0.2, 0.4],
      [0.35, 0.3],
      [0.5, 0],
    ] as const)
      expect(off(density)).toBeCloseTo(0.01 * Math.SQRT1_2 * share, 4)
  })

  it('the common one moves all steps alike but open light', () => {
    const common = errors.length - 1
    expect(offAt(common, 0)).toBeCloseTo(0, 9)
    for (const density of [0.05, 0.5, 1.5, 2.9]) expect(offAt(common, density)).toBeCloseTo(0.01 * Math.SQRT1_2, 5)
  })
})

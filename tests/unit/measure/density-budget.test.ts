import { describe, expect, it } from 'vitest'
import { densityBudget } from '../../../src/measure/density-budget.js'

describe('densityBudget', () => {
  const budget = densityBudget(
    [
      { name: 'tablet', standard: 0.01 },
      { name: 'noise', standard: 0.002 },
      { name: 'black drift', standard: 0.003 },
      { name: 'light drift', standard: 0.0013 },
      { name: 'something new', standard: 0.004 },
    ],
    0.002,
    35,
  )

  it('gives each its quantity, sensitivity and degrees of freedom, and leaves the contribution', () => {
    const [tablet, noise, drift, light, other] = budget
    expect(tablet).toMatchObject({ type: 'B', input: { standard: 0.01, unit: 'D' }, degreesOfFreedom: null })
    expect(noise).toMatchObject({ type: 'A', input: { standard: 1, unit: 'codes' }, degreesOfFreedom: 35 })
    expect(drift).toMatchObject({ type: 'B', input: { standard: 1.5, unit: 'codes' }, degreesOfFreedom: null })
    expect(light!.input!.unit).toBe('1')
    expect(light!.input!.standard).toBeCloseTo(0.003, 4)
    expect(other).toMatchObject({ name: 'something new', standard: 0.004, sensitivity: 1, degreesOfFreedom: null })
    for (const c of budget) expect(c.sensitivity! * c.input!.standard).toBeCloseTo(c.standard, 12)
  })

  it('stays in D where the slope is not known', () => {
    expect(densityBudget([{ name: 'noise', standard: 0.002 }], 0, 35)[0]).toMatchObject({
      input: { standard: 0.002, unit: 'D' },
      sensitivity: 1,
    })
  })
})

import { describe, expect, it } from 'vitest'
import { compareCost, settingCost } from '../../../src/ladder/setting-cost.js'
import { ladderPlan } from '../../support/ladder-plan.js'

describe('settingCost', () => {
  it('counts ink in ml where the plan tells it, by mode before all, else in levels', () => {
    const plan = ladderPlan()
    expect(settingCost(plan, { mode: 'fast', level: 10 })).toEqual({ minutes: 1.5, ink: 0.8 })
    expect(settingCost({ ...plan, inkPerLevel: null }, { mode: 'fine', level: 10 })).toEqual({ minutes: 4, ink: 10 })
    const own = { ...plan, modes: [{ ...plan.modes[0]!, inkPerLevel: 0.2 }] }
    expect(settingCost(own, { mode: 'fast', level: 10 }).ink).toBeCloseTo(2, 12)
    expect(() => settingCost(plan, { mode: 'none', level: 1 })).toThrow(RangeError)
  })
})

describe('compareCost', () => {
  const fast = { minutes: 1.5, ink: 0.8 }
  const fine = { minutes: 4, ink: 0.3 }
  it('takes time first and lets ink break ties', () => {
    expect(compareCost(ladderPlan(), fast, fine)).toBeLessThan(0)
    expect(compareCost(ladderPlan(), fast, { ...fast, ink: 0.9 })).toBeLessThan(0)
  })
  it('weighs as the plan says', () => {
    expect(compareCost(ladderPlan({ weigh: { minutes: 0, ink: 1 } }), fast, fine)).toBeGreaterThan(0)
    expect(compareCost(ladderPlan({ weigh: { minutes: 1, ink: 10 } }), fast, fine)).toBeGreaterThan(0)
    expect(compareCost(ladderPlan({ weigh: { minutes: 1, ink: 0.2 } }), fast, fine)).toBeLessThan(0)
  })
})

import { describe, expect, it } from 'vitest'
import { arrangePrints } from '../../../src/ladder/arrange-prints.js'
import { ladderPlan } from '../../support/ladder-plan.js'

describe('arrangePrints', () => {
  it('prints every combination once and changes one thing at a time, the film once a stock', () => {
    const prints = arrangePrints(ladderPlan(), 4)
    expect(prints).toHaveLength(20)
    expect(new Set(prints.map(p => `${p.stock} ${p.mode} ${p.levels}`)).size).toBe(20)
    expect(prints.slice(1).every(p => p.change.length === 1)).toBe(true)
    expect(prints.filter(p => p.change.includes('stock'))).toHaveLength(2)
    expect(prints.filter(p => p.change.includes('mode'))).toHaveLength(3)
    expect(prints.map(p => p.number)).toEqual(Array.from({ length: 20 }, (_, i) => i + 1))
  })

  it('puts the repeats of a setting on one sheet as far as they fit', () => {
    const prints = arrangePrints(ladderPlan({ repeats: 5, stocks: ['s'], levels: [4, 6] }), 4)
    expect(prints.map(p => p.levels)).toEqual([
      [4, 4, 4, 4],
      [4],
      [6, 6, 6, 6],
      [6],
      [6, 6, 6, 6],
      [6],
      [4, 4, 4, 4],
      [4],
    ])
    expect(prints[1]!.change).toEqual(['level'])
  })

  it('puts several levels on one sheet where the driver can ramp', () => {
    const prints = arrangePrints(ladderPlan({ ramp: true, stocks: ['s'] }), 3)
    expect(prints.map(p => p.levels)).toEqual([
      [4, 6, 8],
      [10, 12],
      [4, 6, 8],
      [10, 12],
    ])
  })

  it('refuses a sheet that holds nothing', () => {
    expect(() => arrangePrints(ladderPlan(), 0)).toThrow(RangeError)
    expect(() => arrangePrints(ladderPlan(), 1.5)).toThrow(RangeError)
  })
})

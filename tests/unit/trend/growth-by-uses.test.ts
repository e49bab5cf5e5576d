import { describe, expect, it } from 'vitest'
import { growthByUses, type UsedSample } from '../../../src/trend/growth-by-uses.js'
import { gaussian } from '../../support/gaussian-series.js'

const sample = (days: number, uses: number, value: number, standard = 0.4): UsedSample => ({
  days,
  uses,
  value,
  standard,
})

describe('growth by use or by age', () => {
  it('goes with use where it follows the count and not the calendar', () => {
    const told = growthByUses([sample(30, 1, 1.1), sample(60, 9, 9.2), sample(90, 9, 8.8), sample(120, 20, 20.1)])
    expect(told).toMatchObject({ kind: 'use' })
    if (told.kind !== 'use') throw new Error('not told')
    expect(Math.abs(told.rate - 1)).toBeLessThan(told.expanded)
  })

  it('goes with age where it follows the calendar', () => {
    const told = growthByUses([sample(30, 1, 3.1), sample(60, 12, 5.9), sample(90, 12, 9.2), sample(120, 13, 11.9)])
    expect(told).toMatchObject({ kind: 'age', rate: expect.closeTo(0.1, 2) })
  })

  it('is not told apart where use and age rose together', () => {
    expect(growthByUses([10, 20, 30, 40].map(d => sample(d, d / 10, d / 10)))).toEqual({ kind: 'together' })
  })

  it('is none within its uncertainty, nor where it shrinks', () => {
    expect(growthByUses([sample(30, 1, 0.2), sample(60, 9, -0.3), sample(90, 20, 0.4)])).toEqual({ kind: 'none' })
    expect(growthByUses([sample(30, 1, -3), sample(60, 9, -9), sample(90, 20, -20)])).toEqual({ kind: 'none' })
  })

  it('asks for three later scans, and for uses between them', () => {
    expect(growthByUses([sample(30, 1, 3), sample(60, 9, 9)])).toMatchObject({ kind: 'tooFew' })
    expect(growthByUses([30, 60, 90].map(d => sample(d, 5, d)))).toMatchObject({
      kind: 'tooFew',
      because: expect.stringContaining('no use lies between'),
    })
  })

  it('is seldom taken for growth where nothing grows', () => {
    const noise = gaussian(11)
    let told = 0
    for (let film = 0; film < 1000; film++) {
      const own = [0, 1, 2, 3, 4].map(noise)
      // Half the variance is the first scan's, common to all that are counted from it.
      const samples = [0, 1, 2, 3].map(i =>
        sample(30 * (i + 1), [1, 9, 9, 20][i]!, 0.4 * Math.SQRT1_2 * (own[i]! - own[4]!)),
      )
      if (growthByUses(samples).kind !== 'none') told++
    }
    expect(told).toBeLessThan(60)
  })
})

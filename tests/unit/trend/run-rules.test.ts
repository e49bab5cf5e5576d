import { describe, expect, it } from 'vitest'
import { runRules } from '../../../src/trend/run-rules.js'
import { gaussian } from '../../support/gaussian-series.js'

const REACH = { two: 2, three: 3 }
const rules = (values: readonly number[]) =>
  runRules(values, REACH).map(({ rule, since, until, side }) => [rule, since, until, side])

describe('runRules', () => {
  it('fires at the ninth film on one side and not at nine with one on the other', () => {
    expect(rules(Array(9).fill(0.5))).toEqual([['side', 0, 8, 'above']])
    expect(rules(Array(8).fill(0.5))).toEqual([])
    expect(rules([...Array(8).fill(0.5), -0.5])).toEqual([])
    expect(rules([0.5, -0.5, ...Array(8).fill(-0.5)])).toEqual([['side', 1, 9, 'below']])
    // On the mean is on neither side.
    expect(rules([...Array(5).fill(0.5), 0, ...Array(5).fill(0.5)])).toEqual([])
  })

  it('tells a run once for as long as it lasts', () => {
    expect(rules([-0.1, ...Array(14).fill(0.5), -0.1])).toEqual([['side', 1, 14, 'above']])
  })

  it('fires beyond three standard deviations, not at three', () => {
    expect(rules([0.1, 3.001, -0.1])).toEqual([['limit', 1, 1, 'above']])
    expect(rules([0.1, 3, -3])).toEqual([])
    expect(rules([0.1, -3.001, -3.001, 0.1])[0]).toEqual(['limit', 1, 2, 'below'])
  })

  it('fires at two of three beyond two on one side, not on both or further apart', () => {
    expect(rules([0, 2.1, 0.3, 2.1])).toEqual([['twoOfThree', 1, 3, 'above']])
    expect(rules([0, 2.1, 2.1])).toEqual([['twoOfThree', 1, 2, 'above']])
    expect(rules([0, 2.1, 0.3, 0.3, 2.1])).toEqual([])
    expect(rules([0, 2.1, -2.1, 0])).toEqual([])
    expect(rules([0, 2, 0.3, 2])).toEqual([])
  })

  it('fires as seldom on chance as it says', () => {
    const draw = gaussian(4)
    const films = 200_000
    const found = runRules(
      Array.from({ length: films }, () => draw()),
      REACH,
    )
    const per1000 = (rule: string) => (1000 * found.filter(signal => signal.rule === rule).length) / films
    // Three standard errors of a count of some 500 are 13 %.
    expect(per1000('limit')).toBeGreaterThan(2.7 * 0.87)
    expect(per1000('limit')).toBeLessThan(2.7 * 1.13)
    expect(per1000('side')).toBeGreaterThan(1.95 * 0.85)
    expect(per1000('side')).toBeLessThan(1.95 * 1.15)
    expect(per1000('twoOfThree')).toBeGreaterThan(1.9 * 0.85)
    expect(per1000('twoOfThree')).toBeLessThan(1.9 * 1.15)
  })

  it('refuses what is no deviation and no reach', () => {
    expect(() => runRules([0, Number.NaN], REACH)).toThrow('deviation 1 must be finite; got NaN')
    expect(() => runRules([0], { two: 2, three: 2 })).toThrow('reach must rise from above 0; got 2 and 2')
    expect(runRules([0], { two: 2, three: 2.01 })).toEqual([])
    expect(() => runRules([0], { two: Number.NaN, three: 3 })).toThrow(/reach/)
  })
})

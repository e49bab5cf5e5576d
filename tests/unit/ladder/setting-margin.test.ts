import { expect, it } from 'vitest'
import { settingMargins } from '../../../src/ladder/setting-margin.js'
import { readingOf } from '../../support/synthetic-ladder.js'

it('tells the room inside the limits in units of U, tightest first', () => {
  const readings = { solidDensity: readingOf('solidDensity', 3.1, 0.05), riseWidth: readingOf('riseWidth', 62, 4) }
  const limits = { solidDensity: { min: 3 }, riseWidth: { min: 10, max: 60 }, raggedness: { max: 5 } }
  const found = settingMargins(readings, limits)
  expect(found.map(m => m.reading)).toEqual(['riseWidth', 'solidDensity'])
  expect(found.map(m => Number(m.margin.toFixed(9)))).toEqual([-0.5, 2])
})

it('does not count a bound that satisfies its limit, and counts one that does not', () => {
  const atLeast = (value: number) => ({ solidDensity: readingOf('solidDensity', value, 0.05, { bound: 'atLeast' }) })
  expect(settingMargins(atLeast(3.2), { solidDensity: { min: 3 } })).toEqual([])
  expect(settingMargins(atLeast(2.9), { solidDensity: { min: 3 } })[0]!.margin).toBeCloseTo(-2, 9)
})

it('measures by the limit itself where U is 0', () => {
  const readings = { solidDensity: readingOf('solidDensity', 3.3, 0) }
  expect(settingMargins(readings, { solidDensity: { min: 3 } })[0]!.margin).toBeCloseTo(0.1, 9)
})

it('does not count a count within its limit, and counts one beyond it', () => {
  const scratches = (count: number) => ({ scratchCount: readingOf('scratchCount', count, 0) })
  expect(settingMargins(scratches(0), { scratchCount: { max: 0 } })).toEqual([])
  expect(settingMargins(scratches(2), { scratchCount: { max: 1 } })[0]!.margin).toBeLessThan(0)
})

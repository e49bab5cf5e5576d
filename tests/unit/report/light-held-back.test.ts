import { expect, it } from 'vitest'
import { lightHeldBack } from '../../../src/report/light-held-back.js'
import { expectWithin } from '../../support/expect-within.js'

it('leaks what the tabulated values say', () => {
  const table = [
    [1.5, 3.162e-2],
    [2, 1e-2],
    [2.5, 3.162e-3],
    [3, 1e-3],
    [3.5, 3.162e-4],
    [3.95, 1.122e-4],
    [4, 1e-4],
  ] as const
  for (const [net, leak] of table) {
    const held = lightHeldBack(net)
    const because = 'the table gives four digits'
    expectWithin(held.leakPercent / 100 / leak, 1, { abs: 2e-4, unit: 'of the leak', because })
    expectWithin(held.onePartIn * leak, 1, { abs: 2e-4, unit: 'of the part', because })
  }
})

it('halves the light each 0.301, and gives the known factors of tablet steps', () => {
  const exact = { abs: 5e-4, unit: 'as tabulated', because: 'the facts are given to four digits' }
  expectWithin(lightHeldBack(0.30103).halvings, 1, exact)
  expectWithin(lightHeldBack(0.15).onePartIn, 1.4125, exact)
  expectWithin(lightHeldBack(0.3).onePartIn, 1.9953, exact)
  expectWithin(lightHeldBack(0.95 - 0.05).onePartIn, 7.9433, exact)
})

it('refuses what is not a number', () => {
  expect(() => lightHeldBack(Number.NaN)).toThrow(/finite.*NaN/)
})

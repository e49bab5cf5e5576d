import { describe, it } from 'vitest'
import { conformanceProbability } from '../../src/judge/conformance.js'
import { expectWithin } from '../support/expect-within.js'

describe('conformance probability, JCGM 106:2012', () => {
  it.each([
    ['7.4, inputs from the source, answer computed', 13.6, 1.8, { min: 12.5, max: 16.3 }, 0.66263],
    ['7.3.3 example 1, from memory', -5.47, 0.05, { max: -5.4 }, 0.91924],
    ['7.3.3 example 2, from memory', 509.7, 8.6, { min: 490 }, 0.98901],
  ])('%s', (_where, value, u, limit, wanted) => {
    expectWithin(conformanceProbability(value, u, limit), wanted, {
      abs: 1e-5,
      unit: '',
      because: 'the published answers have five decimals',
    })
  })

  it.each([
    [3.5, 0.5],
    [3.54, 0.84134],
    [3.58, 0.97725],
    [3.45, 0.10565],
  ])('one limit D 3.50, U 0.08, k 2: %d conforms with probability %d (computed)', (value, wanted) => {
    expectWithin(conformanceProbability(value, 0.08 / 2, { min: 3.5 }), wanted, {
      abs: 1e-4,
      unit: '',
      because: 'the table of the normal distribution is given to four decimals',
    })
  })
})

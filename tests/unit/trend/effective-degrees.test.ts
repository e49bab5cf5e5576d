import { expect, it } from 'vitest'
import { effectiveDegrees } from '../../../src/trend/effective-degrees.js'
import { expectWithin } from '../../support/expect-within.js'

it('one variance keeps its own; equal ones add theirs', () => {
  expect(effectiveDegrees([{ variance: 4, degreesOfFreedom: 8 }])).toBe(8)
  expectWithin(
    effectiveDegrees([
      { variance: 2, degreesOfFreedom: 5 },
      { variance: 2, degreesOfFreedom: 5 },
    ]),
    10,
    { abs: 1e-12, unit: '', because: 'exact' },
  )
})

it('refuses a sum that is no variance, and no degrees of freedom', () => {
  expect(() => effectiveDegrees([{ variance: 0, degreesOfFreedom: 1 }])).toThrow(/sum of the variances/)
  expect(() => effectiveDegrees([{ variance: Number.NaN, degreesOfFreedom: 1 }])).toThrow(/sum of the variances/)
  expect(() => effectiveDegrees([{ variance: 1, degreesOfFreedom: 0 }])).toThrow(/degrees of freedom must be above 0/)
  expect(effectiveDegrees([{ variance: 1e-12, degreesOfFreedom: 0.5 }])).toBe(0.5)
})

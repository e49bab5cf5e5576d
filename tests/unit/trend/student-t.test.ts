import { describe, expect, it } from 'vitest'
import { studentT } from '../../../src/trend/student-t.js'

describe('studentT', () => {
  it('has the values of the tables', () => {
    expect(studentT(0.05, 1)).toBeCloseTo(12.7062, 4)
    expect(studentT(0.05, 9)).toBeCloseTo(2.2622, 4)
    expect(studentT(0.05, 19)).toBeCloseTo(2.093, 4)
    expect(studentT(0.0027, Number.POSITIVE_INFINITY)).toBeCloseTo(3, 2)
  })

  it('refuses what is no probability and no degrees of freedom', () => {
    expect(() => studentT(0, 5)).toThrow('probability must be above 0 and below 1; got 0')
    expect(() => studentT(0.05, 0.99)).toThrow('degrees of freedom must be 1 or more; got 0.99')
    expect(() => studentT(0.05, Number.NaN)).toThrow(/degrees of freedom/)
  })
})

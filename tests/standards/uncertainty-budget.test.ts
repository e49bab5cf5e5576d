import { describe, expect, it } from 'vitest'
import { studentT95 } from '../../src/imaging/student-t.js'
import { expandedUncertainty } from '../../src/measure/expanded-uncertainty.js'
import { expectWithin } from '../support/expect-within.js'

/** JCGM 100:2008 (GUM), worked examples of effective degrees of freedom. Inputs and answers from memory; they agree with each other by the formula. */
describe('the budgets of the GUM', () => {
  it('G.4: three relative uncertainties of a product', () => {
    const made = expandedUncertainty([
      { name: 'X1', standard: 0.25, degreesOfFreedom: 9 },
      { name: 'X2', standard: 0.57, degreesOfFreedom: 4 },
      { name: 'X3', standard: 0.82, degreesOfFreedom: 14 },
    ])
    const printed = { abs: 1e-3, unit: '%', because: 'the example’s own digits' }
    expectWithin(made.standard, 1.02947, printed)
    expectWithin(made.degreesOfFreedom!, 18.999, { ...printed, unit: '' })
    expectWithin(made.coverageFactor, 2.093, { ...printed, unit: '' })
    expectWithin(made.expanded, 2.1547, printed)
  })

  it('H.1: an end gauge, nanometres; the example cuts 16.8 degrees of freedom to 16 and prints 32 nm', () => {
    const made = expandedUncertainty([
      { name: 'standard', standard: 25, degreesOfFreedom: 18 },
      { name: 'difference', standard: 9.7, degreesOfFreedom: 25.6 },
      { name: 'expansion coefficients', standard: 2.9, degreesOfFreedom: 50 },
      { name: 'temperatures', standard: 16.6, degreesOfFreedom: 2 },
    ])
    expect(Math.round(made.standard)).toBe(32)
    expect(Math.floor(made.degreesOfFreedom!)).toBe(16)
    expect(made.coverageFactor).toBeGreaterThan(studentT95(17))
    expect(made.coverageFactor).toBeLessThan(studentT95(16))
  })
})

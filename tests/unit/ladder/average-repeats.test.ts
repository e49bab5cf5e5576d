import { describe, expect, it } from 'vitest'
import { averageRepeats } from '../../../src/ladder/average-repeats.js'
import type { Reading } from '../../../src/model/reading.js'
import { expectWithin } from '../../support/expect-within.js'
import { readingOf } from '../../support/synthetic-ladder.js'

const print = (solidDensity: Reading | null, file = 'a.tif') => ({
  file,
  readings: solidDensity === null ? {} : { solidDensity },
  notMeasured: solidDensity === null ? [{ reading: 'solidDensity' as const, because: 'no solid', next: '' }] : [],
})
const d = (value: number, change: Partial<Reading> = {}) => readingOf('solidDensity', value, 0.04, change)

describe('averageRepeats', () => {
  it('hands a single print on as it is', () => {
    const reading = d(3.1)
    expect(averageRepeats([print(reading)])).toEqual({
      readings: { solidDensity: reading },
      notMeasured: [],
      spread: {},
    })
    expect(() => averageRepeats([])).toThrow(RangeError)
  })

  it('takes the mean, its scatter and a U that no number of prints brings below the shared part', () => {
    const { readings, spread } = averageRepeats([3.0, 3.1, 3.2].map(v => print(d(v))))
    const { value, standard, expanded, coverageFactor } = readings.solidDensity!
    expectWithin(value, 3.1, { abs: 1e-12, unit: 'D', because: 'a mean of three' })
    expectWithin(spread.solidDensity!, 0.1, { abs: 1e-12, unit: 'D', because: 'n - 1' })
    expectWithin(standard!, Math.hypot(0.02, 0.1 / Math.sqrt(3)), { abs: 1e-12, unit: 'D', because: 'closed form' })
    expect(coverageFactor!).toBeGreaterThan(3)
    expectWithin(expanded, coverageFactor! * standard!, { abs: 1e-12, unit: 'D', because: 'U = k u' })
    const same = averageRepeats(Array.from({ length: 20 }, () => print(d(3))))
    expect(same.readings.solidDensity!.expanded).toBeCloseTo(0.04, 12)
  })

  it('makes a bound of prints of which one is a bound, on the safe side', () => {
    const { readings, spread } = averageRepeats([print(d(3.5)), print(d(3.4, { bound: 'atLeast' }))])
    expect(readings.solidDensity).toMatchObject({ bound: 'atLeast', value: (3.46 + 3.4) / 2 })
    expect(spread).toEqual({})
  })

  it('measures nothing where prints disagree on the kind of bound, or one lacks the reading', () => {
    const both = averageRepeats([print(d(3.5, { bound: 'atMost' })), print(d(3.4, { bound: 'atLeast' }))])
    expect(both.readings).toEqual({})
    expect(both.notMeasured[0]).toMatchObject({ reading: 'solidDensity' })
    const lacking = averageRepeats([print(d(3.5)), print(null, 'b.tif')])
    expect(lacking.notMeasured).toMatchObject([{ because: '1 of 2 prints lack it, the first b.tif: no solid' }])
  })
})

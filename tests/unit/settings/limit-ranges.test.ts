import { describe, expect, it } from 'vitest'
import { READINGS, SET_READINGS } from '../../../src/model/reading.js'
import { LIMIT_NAMES, limitRange } from '../../../src/settings/limit-ranges.js'

const units: Readonly<Record<string, string>> = {
  ...SET_READINGS,
  ...Object.fromEntries(Object.entries(READINGS).map(([name, kind]) => [name, kind.unit])),
}

describe('limitRange', () => {
  it('covers every reading of now and later, once', () => {
    expect([...LIMIT_NAMES].sort()).toEqual([...Object.keys(READINGS), ...Object.keys(SET_READINGS)].sort())
  })

  it('has an order and a unit for each', () => {
    for (const name of LIMIT_NAMES) {
      const { lowest, highest, unit } = limitRange(name)
      expect(lowest, name).toBeLessThan(highest)
      expect(unit, name).toBe(units[name])
    }
  })

  it('lets errors and gains be negative, and nothing else', () => {
    const signed = LIMIT_NAMES.filter(name => limitRange(name).lowest < 0)
    expect(signed).toEqual(['sizeErrorAcross', 'sizeErrorFeed', 'toneValueError', 'lineGain'])
  })
})

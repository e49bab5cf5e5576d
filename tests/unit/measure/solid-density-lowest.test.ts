import { describe, expect, it } from 'vitest'
import { measureFilm } from '../../../src/measure/measure-film.js'
import { expectWithin } from '../../support/expect-within.js'
import { inkFilm, SPIKE, scaleWith } from '../../support/ink-film.js'

describe('solidDensityLowest', () => {
  it('is no deeper than the middle solid, and says where', () => {
    const { solidDensity, solidDensityLowest } = measureFilm(inkFilm({ sigma: 30, net: 3 }, scaleWith(SPIKE))).readings
    expect(solidDensityLowest!.value).toBeLessThanOrEqual(solidDensity!.value + 0.002)
    expectWithin(solidDensityLowest!.value, 3.05, {
      abs: 0.01,
      unit: 'D',
      because: 'the lightest of some twenty patches',
    })
    expect(solidDensityLowest!.parts).toHaveLength(1)
    const { place } = solidDensityLowest!.parts[0]!
    expect(Math.max(Math.abs(place.column - 260), Math.abs(place.row - 260))).toBeLessThan(120)
  })
})

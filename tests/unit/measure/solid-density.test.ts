import { describe, expect, it } from 'vitest'
import { measureFilm } from '../../../src/measure/measure-film.js'
import { expectWithin } from '../../support/expect-within.js'
import { inkFilm, SPIKE, scaleWith } from '../../support/ink-film.js'

describe('solidDensity', () => {
  it('reads the solid, base included', () => {
    const { solidDensity } = measureFilm(inkFilm({ sigma: 30, net: 3 }, scaleWith(SPIKE))).readings
    expectWithin(solidDensity!.value, 3.05, { abs: 0.005, unit: 'D', because: 'noise of a patch is 0.003 D' })
    expect(solidDensity!.bound).toBeNull()
    expect(solidDensity!.n).toBe(1)
  })

  it('is a bound beyond what the scanner can tell', () => {
    const { solidDensity } = measureFilm(inkFilm({ sigma: 30, net: 3.9 }, scaleWith(SPIKE, 3.4))).readings
    expect(solidDensity).toMatchObject({ bound: 'atLeast', value: 3.4 })
  })

  it('does not follow the edge when only that gets softer (relation)', () => {
    const at = (sigma: number) => measureFilm(inkFilm({ sigma, net: 3 }, scaleWith(SPIKE))).readings.solidDensity!.value
    expectWithin(at(45), at(20), { abs: 0.006, unit: 'D', because: 'noise of two patches' })
  })
})

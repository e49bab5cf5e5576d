import { describe, expect, it } from 'vitest'
import { measureFilm } from '../../../src/measure/measure-film.js'
import { expectWithin } from '../../support/expect-within.js'
import { inkFilm, SPIKE, scaleWith } from '../../support/ink-film.js'

describe('baseDensity', () => {
  it.each([0.03, 0.05, 0.12])('reads a base of %f D, whatever the ink', base => {
    const { readings } = measureFilm(inkFilm({ sigma: 30, net: 2, base }, scaleWith(SPIKE)))
    expectWithin(readings.baseDensity!.value, base, { abs: 0.001, unit: 'D', because: 'noise of a patch is 0.00001 D' })
    expect(readings.baseDensity!.n).toBeGreaterThanOrEqual(3)
    expect(readings.baseDensity!.method).toBe('baseDensity@1')
  })
})

import { describe, expect, it } from 'vitest'
import { measureFilm } from '../../../src/measure/measure-film.js'
import { expectWithin } from '../../support/expect-within.js'
import { inkFilm, SPIKE, scaleWith } from '../../support/ink-film.js'

describe('inkSpread', () => {
  it.each([
    [20, 2],
    [30, 3],
    [45, 1.5],
  ])('finds a spread of %f um under %f D', (sigma, net) => {
    const { inkSpread } = measureFilm(inkFilm({ sigma, net }, scaleWith(SPIKE))).readings
    expectWithin(inkSpread!.value, sigma, { abs: 0.5, unit: 'um', because: 'painted without a pixel box' })
    expect(inkSpread!.bound).toBeNull()
  })

  it('is an upper bound when the scanner’s own spread is not known', () => {
    const { inkSpread } = measureFilm(inkFilm({ sigma: 30, net: 3 }, scaleWith(null))).readings
    expect(inkSpread!.bound).toBe('atMost')
    expect(inkSpread!.value).toBeGreaterThan(25)
  })
})

import { describe, expect, it } from 'vitest'
import { contourAt } from '../../../src/measure/ink-edge.js'
import { measureFilm } from '../../../src/measure/measure-film.js'
import { expectWithin } from '../../support/expect-within.js'
import { inkFilm, SPIKE, scaleWith } from '../../support/ink-film.js'

describe('fringeWidth', () => {
  it('lies between the contours asked for, not those of the film’s own maximum', () => {
    const edge = { clear: 10 ** -0.05, net: 3, sigma: 30 }
    const { fringeWidth } = measureFilm(inkFilm({ sigma: 30, net: 3 }, scaleWith(SPIKE))).readings
    expectWithin(fringeWidth!.value, contourAt(edge, 0.3) - contourAt(edge, 2.7), {
      abs: 1.5,
      unit: 'um',
      because: 'the spread good to 0.5 um and the net density to 0.01 D',
    })
  })

  it('is not measured where the solid does not reach the upper contour, and says why', () => {
    const thin = measureFilm(inkFilm({ sigma: 30, net: 2 }, scaleWith(SPIKE)))
    expect(thin.readings.fringeWidth).toBeUndefined()
    expect(thin.notMeasured[0]!.because).toMatch(
      /solids are (2\.0\d|1\.9\d) D above base and do not reach the upper contour at 2\.70 D/,
    )
  })

  it('is an upper bound when the scanner’s own spread is not known', () => {
    expect(measureFilm(inkFilm({ sigma: 30, net: 3 }, scaleWith(null))).readings.fringeWidth!.bound).toBe('atMost')
  })
})

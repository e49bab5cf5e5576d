import { describe, expect, it } from 'vitest'
import { filmRise } from '../../../src/measure/ink-edge.js'
import { measureFilm } from '../../../src/measure/measure-film.js'
import type { LineSpread } from '../../../src/model/calibration.js'
import { expectWithin } from '../../support/expect-within.js'
import { inkFilm, SPIKE, scaleWith } from '../../support/ink-film.js'

const edge = { clear: 10 ** -0.05, net: 3, sigma: 30 }

describe('riseWidth and riseWidthWorst', () => {
  const { readings, edges } = measureFilm(inkFilm({ sigma: 30, net: 3 }, scaleWith(SPIKE)))

  it('read the film’s edges as the closed form has them', () => {
    expectWithin(readings.riseWidth!.value, filmRise(edge), {
      abs: 0.7,
      unit: 'um',
      because: 'painted without a pixel box',
    })
    expect(readings.riseWidth!.bound).toBeNull()
    expect(readings.riseWidthWorst!.value).toBeGreaterThanOrEqual(readings.riseWidth!.value)
    expect(readings.riseWidthWorst!.parts[0]!.id).toMatch(/^edge-\d$/)
  })

  it('show the profile with its marks and its model', () => {
    expect(edges.length).toBe(readings.riseWidth!.n)
    expect(edges[0]!.at90 - edges[0]!.at10).toBeCloseTo(edges[0]!.seenRise, 9)
    expect(edges[0]!.model!.length).toBe(edges[0]!.distanceUm.length)
  })

  it('grow with the ink spread (relation)', () => {
    const softer = measureFilm(inkFilm({ sigma: 45, net: 3 }, scaleWith(SPIKE))).readings
    expect(softer.riseWidth!.value).toBeGreaterThan(readings.riseWidth!.value)
  })

  it('are upper bounds when the scanner’s own spread is not known', () => {
    const bounded = measureFilm(inkFilm({ sigma: 30, net: 3 }, scaleWith(null))).readings
    for (const name of ['riseWidth', 'riseWidthWorst'] as const) {
      expect(bounded[name]!.bound).toBe('atMost')
      expect(bounded[name]!.value).toBeGreaterThan(filmRise(edge))
    }
  })

  it('are upper bounds when the edge is as sharp as the scanner', () => {
    const blunt: LineSpread = {
      riseWidth: 51,
      riseWidthExpanded: 1,
      stepUm: 1,
      weights: Array.from(
        { length: 161 },
        (_, i) => Math.exp(-(((i - 80) / 20) ** 2) / 2) / (20 * Math.sqrt(2 * Math.PI)),
      ),
    }
    const { riseWidth } = measureFilm(inkFilm({ sigma: 29, net: 3 }, scaleWith(blunt))).readings
    expect(riseWidth!.bound).toBe('atMost')
  })
})

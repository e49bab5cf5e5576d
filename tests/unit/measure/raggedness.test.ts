import { describe, expect, it } from 'vitest'
import { measureFilm } from '../../../src/measure/measure-film.js'
import { expectWithin } from '../../support/expect-within.js'
import { inkFilm, SPIKE, scaleWith } from '../../support/ink-film.js'

describe('raggedness', () => {
  it('is next to nothing on a straight edge', () => {
    expect(measureFilm(inkFilm({ sigma: 30, net: 3 }, scaleWith(SPIKE))).readings.raggedness!.value).toBeLessThan(0.6)
  })

  it('is the rms of a wave of known amplitude', () => {
    // 0.4 px at a length of 40 px on two of the four sides: 0.4 / sqrt 2 px = 5.99 um.
    const wave = (v: number) => 0.4 * Math.sin((2 * Math.PI * v) / 40)
    const { raggedness } = measureFilm(inkFilm({ sigma: 30, net: 3 }, scaleWith(SPIKE), wave)).readings
    const sides = raggedness!.parts.map(p => p.value).sort((a, b) => b - a)
    expectWithin(sides[0]!, (0.4 / Math.SQRT2) * 21.17, {
      abs: 0.5,
      unit: 'um',
      because: 'a wave over some five periods',
    })
    expect(raggedness!.value).toBeGreaterThan(2)
  })
})

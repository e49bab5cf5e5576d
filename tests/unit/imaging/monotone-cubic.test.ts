import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { evaluateMonotoneCubic, monotoneCubic } from '../../../src/imaging/monotone-cubic.js'
import { expectWithin } from '../../support/expect-within.js'

describe('monotoneCubic', () => {
  it('passes through its knots and never turns back between rising knots', () => {
    const rises = fc.array(fc.double({ min: 0.01, max: 10, noNaN: true }), { minLength: 2, maxLength: 12 })
    fc.assert(
      fc.property(rises, rises, (dx, dy) => {
        const n = Math.min(dx.length, dy.length)
        const sum = (list: readonly number[]) =>
          list.slice(0, n).map((_, i) => list.slice(0, i + 1).reduce((a, b) => a + b, 0))
        const [x, y] = [sum(dx), sum(dy)]
        const curve = monotoneCubic(x, y)
        let before = Number.NEGATIVE_INFINITY
        for (let i = 0; i <= 200; i++) {
          const value = evaluateMonotoneCubic(curve, x[0]! + ((x.at(-1)! - x[0]!) * i) / 200)
          if (!(value >= before - 1e-9)) return false
          before = value
        }
        return x.every((at, i) => Math.abs(evaluateMonotoneCubic(curve, at) - y[i]!) < 1e-9)
      }),
    )
  })

  it('is exact for straight lines, and flat at a turning point', () => {
    const line = monotoneCubic([0, 1, 3, 4], [1, 3, 7, 9])
    expectWithin(evaluateMonotoneCubic(line, 2.2), 5.4, { abs: 1e-12, unit: '1', because: 'a line' })
    expectWithin(evaluateMonotoneCubic(line, 5), 11, { abs: 1e-12, unit: '1', because: 'the line goes on' })
    const peak = monotoneCubic([0, 1, 2], [0, 1, 0])
    expect(peak.slope[1]).toBe(0)
  })

  it('refuses knots that do not rise, and unequal lists', () => {
    expect(() => monotoneCubic([0, 0, 1], [0, 1, 2])).toThrow(RangeError)
    expect(() => monotoneCubic([0, Number.NaN], [0, 1])).toThrow(RangeError)
    expect(() => monotoneCubic([0, 1], [0])).toThrow(RangeError)
    expect(() => monotoneCubic([0], [0])).toThrow(RangeError)
  })
})

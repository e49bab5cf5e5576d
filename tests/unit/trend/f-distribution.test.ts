import { describe, expect, it } from 'vitest'
import { fTail } from '../../../src/trend/f-distribution.js'
import { expectWithin } from '../../support/expect-within.js'

describe('upper tail of F', () => {
  // Closed forms: with 2 above, (d2 / (d2 + 2 f))^(d2/2); with 2 below, 1 - (d1 f / (2 + d1 f))^(d1/2).
  it.each([
    [0.1, 2, 1],
    [1, 2, 12],
    [9.5911, 2, 12],
    [40, 2, 60],
    [1.2, 2, 10_000],
  ])('F %d on %d and %d', (f, above, below) => {
    expectWithin(fTail(f, above, below), (below / (below + 2 * f)) ** (below / 2), {
      abs: 1e-11,
      unit: '',
      because: 'stated in the function',
    })
  })

  it.each([
    [0.3, 1, 2],
    [3, 18, 2],
    [3, 10_000, 2],
  ])('F %d on %d and %d', (f, above, below) => {
    expectWithin(fTail(f, above, below), 1 - ((above * f) / (2 + above * f)) ** (above / 2), {
      abs: 1e-11,
      unit: '',
      because: 'stated in the function',
    })
  })

  it('1 and 1: the square of a Cauchy number', () => {
    for (const f of [0.01, 1, 161.4476])
      expectWithin(fTail(f, 1, 1), 1 - (2 / Math.PI) * Math.atan(Math.sqrt(f)), {
        abs: 1e-12,
        unit: '',
        because: 'closed form',
      })
  })

  it('turning the ratio over turns the tail over', () => {
    for (const [f, a, b] of [
      [0.4, 3, 7],
      [2.2, 18, 60],
      [1, 5, 5],
    ] as const)
      expectWithin(fTail(f, a, b) + fTail(1 / f, b, a), 1, { abs: 1e-12, unit: '', because: 'both add up to all' })
  })

  it('runs from 1 at 0 to 0 far out, and never up', () => {
    expect(fTail(0, 3, 8)).toBe(1)
    expect(fTail(Number.POSITIVE_INFINITY, 3, 8)).toBe(0)
    let before = 1
    for (let f = 0.05; f < 1e4; f *= 1.5) {
      const p = fTail(f, 3, 8)
      expect(p).toBeLessThan(before)
      before = p
    }
  })

  it.each([
    [-1e-9, 1, 1],
    [Number.NaN, 1, 1],
    [1, 0, 1],
    [1, 1, Number.NaN],
    [1, Number.POSITIVE_INFINITY, 1],
  ])('refuses F %d on %d and %d', (f, a, b) => {
    expect(() => fTail(f, a, b)).toThrow(RangeError)
  })
})

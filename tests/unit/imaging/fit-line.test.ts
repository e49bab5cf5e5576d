import { describe, expect, it } from 'vitest'
import { fitLine, predict } from '../../../src/imaging/fit-line.js'

const X = [0, 1, 2, 3, 4]
const Y = [1.1, 2.9, 5.1, 6.9, 9]

describe('fitLine', () => {
  it('by hand: slope 1.98, intercept 1.04', () => {
    const line = fitLine(X, Y)
    expect(line.slope).toBeCloseTo(1.98, 12)
    expect(line.intercept).toBeCloseTo(1.04, 12)
    // Residuals 0.06, -0.12, 0.10, -0.08, 0.04: sum of squares 0.036, 3 degrees of freedom.
    expect(line.residualDeviation).toBeCloseTo(Math.sqrt(0.036 / 3), 12)
    expect(line.slopeError).toBeCloseTo(Math.sqrt(0.012 / 10), 12)
    expect(line.interceptError).toBeCloseTo(Math.sqrt(0.012 * (1 / 5 + 4 / 10)), 12)
    expect(line.r2).toBeCloseTo(1 - 0.036 / 39.24, 4)
  })

  it('refuses what gives no line, and takes the least that does', () => {
    expect(() => fitLine([1, 2], [1, 2])).toThrow(/needs 3 points; got 2/)
    expect(fitLine([1, 2, 3], [1, 2, 4]).freedom).toBe(1)
    expect(() => fitLine([1], [1], true)).toThrow(/needs 2 points/)
    expect(fitLine([1, 2], [1, 2], true).slope).toBe(1)
    expect(() => fitLine([1, 1, 1], [1, 2, 3])).toThrow(/must differ/)
    expect(() => fitLine([1, 2, Number.NaN], [1, 2, 3])).toThrow(/finite/)
    expect(() => fitLine([1, 2, 3], [1, 2])).toThrow(/one length/)
  })
})

describe('predict', () => {
  it('is narrowest in the middle of the points', () => {
    const line = fitLine(X, Y)
    const middle = predict(line, 2)
    expect(middle.value).toBeCloseTo(5, 12)
    // t(3) = 3.1824
    expect(middle.half).toBeCloseTo(3.1824463 * Math.sqrt(0.012 * 1.2), 6)
    expect(predict(line, 4).half).toBeCloseTo(3.1824463 * Math.sqrt(0.012 * 1.6), 6)
  })

  it('through the origin has no error there of its own', () => {
    const line = fitLine([1, 2, 3], [2, 4.1, 5.9], true)
    expect(predict(line, 0).value).toBe(0)
    expect(predict(line, 0).half).toBeCloseTo(4.302653 * line.residualDeviation, 5)
  })
})

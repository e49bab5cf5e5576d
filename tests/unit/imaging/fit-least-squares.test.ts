import { describe, expect, it } from 'vitest'
import { covarianceAt, fitLeastSquares } from '../../../src/imaging/fit-least-squares.js'
import { expectWithin } from '../../support/expect-within.js'

describe('fitLeastSquares', () => {
  it('finds a straight line exactly, with the textbook covariance', () => {
    const x = [0, 1, 2, 3, 4]
    const fit = fitLeastSquares(([a, b]) => x.map(v => a! + b! * v - (2 + 3 * v)), [0, 0], [1, 1])
    expectWithin(fit.parameters[0]!, 2, { abs: 1e-9, unit: '1', because: 'no noise' })
    expectWithin(fit.parameters[1]!, 3, { abs: 1e-9, unit: '1', because: 'no noise' })
    expect(fit.converged).toBe(true)
    expect(fit.freedom).toBe(3)
    expectWithin(fit.covariance[0]![0]!, 0.6, { abs: 1e-6, unit: '1', because: '1/n + mean^2/Sxx = 0.2 + 4/10' })
    expectWithin(fit.covariance[1]![1]!, 0.1, { abs: 1e-6, unit: '1', because: '1/Sxx' })
    expectWithin(fit.covariance[0]![1]!, -0.2, { abs: 1e-6, unit: '1', because: '-mean/Sxx' })
  })

  it('keeps small directions beside parameters a million times larger', () => {
    const x = [0, 1, 2, 3, 4]
    const residuals = ([a, b]: readonly number[]) => x.map(v => a! * 1e-6 + b! * 1e6 * v)
    const covariance = covarianceAt(residuals, [0, 0], [1e6, 1e-6])
    expectWithin(covariance[0]![0]! / 1e12, 0.6, { abs: 1e-4, unit: '1', because: 'the same line, rescaled' })
    expectWithin(covariance[1]![1]! * 1e12, 0.1, { abs: 1e-4, unit: '1', because: 'the same line, rescaled' })
  })

  it('stays where it is allowed', () => {
    const fit = fitLeastSquares(
      ([a]) => [a! - 5],
      [1],
      [1],
      p => p[0]! < 3,
    )
    expect(fit.parameters[0]).toBeLessThan(3)
  })
})

import { describe, expect, it } from 'vitest'
import { fitPolynomial, polynomial } from '../../../src/imaging/fit-polynomial.js'

describe('fitPolynomial', () => {
  it('finds a cubic again, points of weight 0 left out', () => {
    const x = Array.from({ length: 21 }, (_, i) => (i - 10) / 10)
    const y = x.map(v => polynomial([1, -2, 0.5, 3], v))
    y[4] = 1000
    const weights = x.map((_, i) => (i === 4 ? 0 : 1))
    const found = fitPolynomial(x, y, weights, 3)
    expect(found.map(c => Number(c.toFixed(9)))).toEqual([1, -2, 0.5, 3])
  })

  it('needs as many points of weight as coefficients', () => {
    expect(() => fitPolynomial([0, 1], [0, 1], [1, 0], 1)).toThrow('a polynomial of order 1 needs 2 points; got 1')
    expect(fitPolynomial([0, 1], [0, 1], [1, 1], 1)).toHaveLength(2)
  })
})

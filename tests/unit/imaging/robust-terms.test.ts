import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../src/demo/random.js'
import { robustTerms } from '../../../src/imaging/robust-terms.js'

describe('robustTerms', () => {
  it('finds the factors that the values were made with, wild ones left out', () => {
    const random = seededRandom(6)
    const [rows, truth] = [400, [0.3, -1.2, 2]]
    const fit = robustTerms(rows, 3, { rounds: 3, noise: 1e-6, ridge: 1e-12 })
    for (let i = 0; i < rows; i++) {
      const terms = [random.normal(), random.normal(), 1]
      fit.terms.set(terms, 3 * i)
      fit.values[i] = terms.reduce((sum, term, k) => sum + term * truth[k]!, 0) + (i % 20 === 0 ? 5 : 0)
    }
    const { fitted, weights } = fit.solved()
    fitted.forEach((factor, k) => {
      expect(factor).toBeCloseTo(truth[k]!, 8)
    })
    expect([...weights]).toEqual(Array.from({ length: rows }, (_, i) => (i % 20 === 0 ? 0 : 1)))
  })

  it('leaves a factor that nothing tells at 0, and begins anew each time', () => {
    const fit = robustTerms(50, 2, { rounds: 1, noise: 1e-6, ridge: 1e-9 })
    for (let i = 0; i < 50; i++) {
      fit.terms[2 * i] = 1
      fit.values[i] = 4
    }
    const { fitted } = fit.solved()
    expect(fitted[0]).toBeCloseTo(4, 6)
    expect(fitted[1]).toBeCloseTo(0, 12)
  })
})

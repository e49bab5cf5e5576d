import { describe, expect, it } from 'vitest'
import { choiceOfExtreme } from '../../../src/measure/choice-of-extreme.js'

describe('choiceOfExtreme', () => {
  it('adds nothing where nothing else comes near', () => {
    expect(choiceOfExtreme([20, 10, 11], 20, 1, 'um').standard).toBe(0)
    expect(choiceOfExtreme([20], 20, 1, 'um').standard).toBe(0)
  })

  it('makes k = 2 of the whole the 97.5 % point of the greatest of n', () => {
    // Greatest of 8 normal values: P(all below z) = 0.975 at z = 2.730.
    const { standard } = choiceOfExtreme(
      Array.from({ length: 8 }, () => 20),
      20,
      1,
      'um',
    )
    expect(1.96 * Math.hypot(1, standard)).toBeCloseTo(2.7297, 2)
  })

  it('counts those within 2.83 standard uncertainties only', () => {
    expect(choiceOfExtreme([20, 17.18], 20, 1, 'um').standard).toBeGreaterThan(0)
    expect(choiceOfExtreme([20, 17.16], 20, 1, 'um').standard).toBe(0)
  })
})

import { expect, it } from 'vitest'
import { toneCurve } from '../../../src/report/tone-curve.js'

it('tells open light, base, tints and solids of different depth apart', () => {
  const greys = [0, 0.05, 0.35, 1, 2, 2.5, 3].map(density => toneCurve(10 ** -density))
  expect(greys[0]).toBe(255)
  for (let i = 1; i < greys.length; i++) expect(greys[i - 1]! - greys[i]!).toBeGreaterThanOrEqual(12)
})

it('never turns back as light falls', () => {
  let before = 255
  for (let density = -0.1; density < 5; density += 0.01) {
    const grey = toneCurve(10 ** -density)
    expect(grey).toBeLessThanOrEqual(before)
    before = grey
  }
  expect(before).toBe(0)
})

it('shows light at or below nothing as black, also when it is no number', () => {
  expect([0, -1e-5, Number.NaN].map(toneCurve)).toEqual([0, 0, 0])
})

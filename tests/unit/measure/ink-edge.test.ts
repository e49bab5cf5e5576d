import { describe, expect, it } from 'vitest'
import { contourAt, filmRise, lightAt } from '../../../src/measure/ink-edge.js'
import { expectWithin } from '../../support/expect-within.js'

describe('ink edge (Beer-Lambert over a Gaussian step)', () => {
  // Computed table: 50 % T contour and 10-90 % width in T of a density-domain Gaussian edge, in sigma.
  it.each([
    [2, 1.03423, 1.99762],
    [3, 1.2796, 1.73274],
    [3.5, 1.36575, 1.65807],
    [4, 1.43771, 1.60096],
  ])('net %f D: half light at %f sigma outside, rise %f sigma', (net, half, rise) => {
    const edge = { clear: 1, net, sigma: 10 }
    // The table takes shares of the base's light.
    expectWithin(contourAt(edge, Math.log10(2)) / 10, half, { abs: 1e-4, unit: 'sigma', because: 'closed form' })
    expectWithin((contourAt(edge, -Math.log10(0.9)) - contourAt(edge, 1)) / 10, rise, {
      abs: 1e-4,
      unit: 'sigma',
      because: 'closed form',
    })
    // The reading takes shares of the change from solid to base, a little less where the solid lets light through.
    expectWithin(filmRise(edge) / 10, rise, { abs: 0.05, unit: 'sigma', because: 'solid of T = 10^-net, at most 0.01' })
  })

  it('has half the net density at its own edge, base far out, solid far in', () => {
    const edge = { clear: 0.9, net: 3, sigma: 20 }
    expect(lightAt(edge, 0)).toBeCloseTo(0.9 * 10 ** -1.5, 12)
    expect(lightAt(edge, 400)).toBeCloseTo(0.9, 9)
    expect(lightAt(edge, -400)).toBeCloseTo(0.0009, 12)
  })

  it('twice the spread is twice the rise (relation)', () => {
    expect(filmRise({ clear: 1, net: 3, sigma: 24 })).toBeCloseTo(2 * filmRise({ clear: 1, net: 3, sigma: 12 }), 9)
  })
})

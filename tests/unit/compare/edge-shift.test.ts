import { expect, it } from 'vitest'
import { contourSpan, edgeShift } from '../../../src/compare/edge-shift.js'
import { expectWithin } from '../../support/expect-within.js'

it.each([
  [2, 1.03423],
  [3, 1.2796],
  [3.5, 1.36575],
  [4, 1.43771],
])(
  'at D %f half the light stands %f sigma outside the edge (closed form, Beer-Lambert on a Gaussian edge)',
  (net, sigmas) => {
    expectWithin(edgeShift(net), sigmas, { abs: 5e-6, unit: 'sigma', because: 'the last digit of the table' })
  },
)

it.each([
  [2, 1.99762],
  [3, 1.73274],
  [3.5, 1.65807],
  [4, 1.60096],
])('at D %f light goes from a tenth to nine tenths within %f sigma, read as two density contours', (net, sigmas) => {
  const contour = (light: number) => -Math.log10(light)
  expectWithin(contourSpan(net, contour(0.9), contour(0.1)), sigmas, {
    abs: 5e-6,
    unit: 'sigma',
    because: 'the last digit of the table',
  })
})

it('10 and 90 % of the ink itself are 2.5631 sigma apart', () => {
  expectWithin(contourSpan(4, 0.4, 3.6), 2.5631, {
    abs: 5e-5,
    unit: 'sigma',
    because: 'the last digit of the quantile',
  })
})

it('refuses a solid too light for the contour, and contours that are not in order', () => {
  expect(() => edgeShift(0.6)).toThrow(/must be above 0.60 D/)
  expect(() => edgeShift(Number.NaN)).toThrow(/must be above/)
  expect(edgeShift(0.61)).toBeGreaterThan(0)
  expect(() => contourSpan(3, 0, 2)).toThrow(/0 < low/)
  expect(() => contourSpan(3, 1, 3)).toThrow(/high < net/)
  expect(contourSpan(3, 1, 2.99)).toBeGreaterThan(0)
})

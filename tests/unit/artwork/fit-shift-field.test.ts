import { describe, expect, it } from 'vitest'
import type { EdgeDisplacement } from '../../../src/artwork/edge-displacements.js'
import { fitShiftField } from '../../../src/artwork/fit-shift-field.js'
import { localShift } from '../../../src/artwork/local-shift.js'
import { shiftAt, steppedField } from '../../../src/artwork/shift-field.js'
import { seededRandom } from '../../../src/demo/random.js'

const EVEN = { x0: 3, y0: 4, xx: 1, xy: 0, yx: 0, yy: 1 }
const SIZE = { width: 80, height: 60 }
const GAIN = 0.02

/** Upright edges all over the page as a film would show them that wanders so, with noise of 2 um and some far off. */
function edges(across: (x: number) => number, feed: (y: number) => number, seed: number, outliers = 0.1) {
  const random = seededRandom(seed)
  return Array.from({ length: 1280 }, (_, i): EdgeDisplacement => {
    const window = i >> 3
    const x = 5 * (window % 16) + random.between(0, 4)
    const y = 6 * (window >> 4) + random.between(0, 4)
    const sign = random.uniform() < 0.5 ? -1 : 1
    const [nx, ny] = random.uniform() < 0.5 ? [sign, 0] : [0, sign]
    const off = nx * across(x) + ny * feed(y) + GAIN + 0.002 * random.normal()
    return { x, y, nx, ny, window, off: random.uniform() < outliers ? off + random.between(-0.4, 0.4) : off }
  })
}

const wander = (amplitude: number, long: number) => (at: number) => amplitude * Math.sin((2 * Math.PI * at) / long + 1)

describe('fitShiftField', () => {
  it('follows a wander of 0.1 mm in waves of 40 mm, which an even map cannot, to the rim', () => {
    const [across, feed] = [wander(0.1, 40), wander(0.1, 55)]
    const fit = fitShiftField(edges(across, feed, 5), EVEN, SIZE)!
    for (const x of [1, 20, 41, 60, 79])
      for (const y of [1, 25, 50, 57]) {
        const at = shiftAt(fit.field, x, y)
        const within = x > 10 && x < 70 && y > 10 && y < 50 ? 0.003 : 0.01
        expect(Math.abs(at.across - across(x)), `${x} ${y}`).toBeLessThan(within)
        expect(Math.abs(at.feed - feed(y)), `${x} ${y}`).toBeLessThan(within)
      }
    expect(fit.residual).toBeLessThan(0.004)
  })

  it('leaves edges out that lie far off, and keeps those that wander', () => {
    const fit = fitShiftField(edges(wander(0.12, 60), wander(0.1, 80), 6, 0.1), EVEN, SIZE)!
    const out = fit.weights.filter(weight => weight === 0).length
    expect(out).toBeGreaterThan(60)
    expect(out).toBeLessThan(160)
  })

  it('is straight where the film is', () => {
    const { field } = fitShiftField(
      edges(
        () => 0.05,
        y => 0.001 * y,
        7,
      ),
      EVEN,
      SIZE,
    )!
    for (const [x, y] of [
      [2, 3],
      [40, 30],
      [78, 58],
    ] as const) {
      expect(Math.abs(shiftAt(field, x, y).across - 0.05)).toBeLessThan(0.001)
      expect(Math.abs(shiftAt(field, x, y).feed - 0.001 * y)).toBeLessThan(0.001)
    }
  })
})

describe('steppedField', () => {
  it('tells the same places from another map', () => {
    const { field } = fitShiftField(edges(wander(0.1, 50), wander(0.05, 70), 8), EVEN, SIZE)!
    const step = { x0: 0.2, y0: -0.1, xx: 1.002, xy: 0.001, yx: -0.001, yy: 0.998 }
    const stepped = steppedField(field, step)
    for (const [x, y] of [
      [0, 0],
      [33, 21],
      [80, 60],
    ] as const) {
      const old = shiftAt(field, x, y)
      const now = shiftAt(stepped, x, y)
      const [u, v] = [x + old.across, y + old.feed]
      expect(x + now.across).toBeCloseTo(step.x0 + step.xx * u + step.xy * v, 9)
      expect(y + now.feed).toBeCloseTo(step.y0 + step.yx * u + step.yy * v, 9)
    }
  })
})

describe('localShift', () => {
  it('is the field, drawn straight between points of a lattice', () => {
    const { field } = fitShiftField(edges(wander(0.1, 40), wander(0.1, 55), 9), EVEN, SIZE)!
    const at = localShift(field)
    for (const [x, y] of [
      [3.3, 7.1],
      [41.7, 30.9],
      [79.9, 59.9],
    ] as const) {
      expect(Math.abs(at(x, y).across - shiftAt(field, x, y).across)).toBeLessThan(0.003)
      expect(Math.abs(at(x, y).feed - shiftAt(field, x, y).feed)).toBeLessThan(0.003)
    }
  })

  it('is nothing without a field', () => {
    expect(localShift(null)(3, 4)).toEqual({ across: 0, feed: 0 })
  })
})

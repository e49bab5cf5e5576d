import { describe, expect, it } from 'vitest'
import { toneValue } from '../../../src/measure/tone-value.js'

const light = (density: number) => 10 ** -density

describe('toneValue', () => {
  // Murray-Davies: (Dt, Ds, D0) to percent.
  it.each([
    [0.35, 4.05, 0.05, 49.8863],
    [0.3452, 3.55, 0.05, 49.3399],
    [0.4, 1.5, 0, 62.1548],
    [0.55, 1.5, 0, 74.1614],
    [0.301, 3, 0, 50.0466],
  ])('of D %f between %f and %f is %f %%', (tint, solid, base, wanted) => {
    expect(Math.abs(toneValue(light(base), light(tint), light(solid)) - wanted)).toBeLessThan(1e-3)
  })

  // Net density of a tint of share A under a solid of net 4.0.
  it.each([
    [5, 0.0223],
    [10, 0.0458],
    [25, 0.1249],
    [50, 0.301],
    [75, 0.6019],
    [90, 0.9996],
    [95, 1.3002],
  ])('of %f %% has the published net density', (share, net) => {
    const tint = 1 - (share / 100) * (1 - light(4))
    expect(Math.abs(-Math.log10(tint) - net)).toBeLessThan(1e-4)
    expect(toneValue(1, tint, light(4))).toBeCloseTo(share, 9)
  })

  // Round dot of 20 % at 45 lines/in with a ring of 5 and 10 um.
  it.each([
    [5, 21.429],
    [10, 22.907],
  ])('of a round dot grown by %f um is the published %f %%', (ring, wanted) => {
    const pitch = 25_400 / 45
    const radius = Math.sqrt((0.2 * pitch ** 2) / Math.PI) + ring
    const covered = (Math.PI * radius ** 2) / pitch ** 2
    expect(Math.abs(toneValue(1, 1 - covered, 0) - wanted)).toBeLessThan(1e-2)
  })

  it('refuses a solid no darker than the base', () => {
    expect(() => toneValue(0.9, 0.5, 0.9)).toThrow('more light than the solid')
    expect(() => toneValue(0.9, 0.5, Number.NaN)).toThrow(RangeError)
  })
})

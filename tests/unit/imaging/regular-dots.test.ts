import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../src/demo/random.js'
import { regularDots } from '../../../src/imaging/regular-dots.js'

function dots(places: readonly (readonly [number, number, number?])[]) {
  return {
    count: places.length,
    x: Float64Array.from(places, p => p[0]),
    y: Float64Array.from(places, p => p[1]),
    area: Float64Array.from(places, p => p[2] ?? 1),
  }
}

const lattice = (pitch: number, degrees: number, side: number, wander: (k: number) => number = () => 0) => {
  const a = (degrees * Math.PI) / 180
  const places: [number, number][] = []
  for (let r = 0; r < side; r++)
    for (let c = 0; c < side; c++) {
      const k = places.length
      places.push([
        5000 + pitch * (c * Math.cos(a) - r * Math.sin(a)) + wander(2 * k),
        5000 + pitch * (c * Math.sin(a) + r * Math.cos(a)) + wander(2 * k + 1),
      ])
    }
  return places
}

const share = (marks: Uint8Array) => marks.reduce((sum, mark) => sum + mark, 0) / marks.length

describe('regularDots', () => {
  it('knows a screen at any angle and ruling, its rim too, a little out of place', () => {
    const random = seededRandom(3)
    for (const [pitch, degrees] of [
      [390, 0],
      [460, 22.5],
      [730, 45],
      [550, 75],
    ] as const) {
      const marks = regularDots(dots(lattice(pitch, degrees, 9, () => random.between(-15, 15))), 900, 20)
      expect(share(marks)).toBe(1)
    }
  })

  it('knows leader dots in a row, but not beads of a line that is told not to make one', () => {
    const row = dots(Array.from({ length: 12 }, (_, i) => [300 * i, 100] as const))
    expect(share(regularDots(row, 900, 20))).toBe(1)
    expect(share(regularDots(row, 900, 20, new Uint8Array(12).fill(1)))).toBe(0)
  })

  it('calls few of many spots strewn by chance regular, and none of a few', () => {
    const random = seededRandom(7)
    const strewn = (n: number, side: number) =>
      dots(Array.from({ length: n }, () => [random.between(0, side), random.between(0, side)] as const))
    expect(share(regularDots(strewn(40, 30_000), 900, 20))).toBe(0)
    expect(share(regularDots(strewn(500, 20_000), 900, 20))).toBeLessThan(0.15)
  })
})

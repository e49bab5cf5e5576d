import { describe, expect, it } from 'vitest'
import { complexPlane, transformPlane } from '../../../src/imaging/fourier-plane.js'

describe('transformPlane', () => {
  it('gives a wave its two bins, half its height each (closed form)', () => {
    const side = 16
    const plane = complexPlane(side)
    for (let r = 0; r < side; r++)
      for (let c = 0; c < side; c++) plane.re[r * side + c] = 3 * Math.cos((2 * Math.PI * (2 * c + 5 * r)) / side + 0.4)
    transformPlane(plane, false)
    const half = (3 / 2) * side * side
    for (let i = 0; i < side * side; i++) {
      const sign = i === 5 * side + 2 ? 1 : i === 11 * side + 14 ? -1 : 0
      expect(plane.re[i]).toBeCloseTo(Math.abs(sign) * half * Math.cos(0.4), 9)
      expect(plane.im[i]).toBeCloseTo(sign * half * Math.sin(0.4), 9)
    }
  })

  it.each([2, 4, 8, 64])('is the same plane there and back, side %d', side => {
    const plane = complexPlane(side)
    plane.re.forEach((_, i) => {
      plane.re[i] = Math.sin(i * i)
      plane.im[i] = Math.cos(3 * i)
    })
    transformPlane(plane, false)
    transformPlane(plane, true)
    plane.re.forEach((re, i) => {
      expect(re).toBeCloseTo(Math.sin(i * i), 10)
      expect(plane.im[i]).toBeCloseTo(Math.cos(3 * i), 10)
    })
  })

  it('refuses a side that is no power of two', () => {
    expect(() => complexPlane(12)).toThrow('power of two')
    expect(() => complexPlane(1)).toThrow(RangeError)
  })
})

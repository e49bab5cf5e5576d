import { describe, expect, it } from 'vitest'
import { findScreen } from '../../../src/imaging/find-screen.js'

/** Round dots as the sum of two cosines cut at a level, on a grid of `pitch`, cycles a unit of length. */
function dots(ruling: number, angle: number, level: number, columns = 120, rows = 90, pitch = 0.05, samples = 4) {
  const turn = (angle * Math.PI) / 180
  const values = new Float32Array(columns * rows)
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      let dark = 0
      for (let i = 0; i < samples; i++)
        for (let j = 0; j < samples; j++) {
          const x = (c + (j + 0.5) / samples) * pitch
          const y = (r + (i + 0.5) / samples) * pitch
          const u = ruling * (x * Math.cos(turn) + y * Math.sin(turn))
          const v = ruling * (-x * Math.sin(turn) + y * Math.cos(turn))
          if (Math.cos(2 * Math.PI * u) + Math.cos(2 * Math.PI * v) > level) dark++
        }
      values[r * columns + c] = 1 - dark / samples ** 2
    }
  return { columns, rows, values, pitch }
}

const of = (v: { x: number; y: number }) => ({
  ruling: Math.hypot(v.x, v.y),
  angle: (Math.atan2(v.y, v.x) * 180) / Math.PI,
})

describe('findScreen', () => {
  it.each([
    [45 / 25.4, 22.5, 0],
    [65 / 25.4, 15, 0.8],
    [65 / 25.4, 75, 0.8],
    [35 / 25.4, 0, -0.6],
    [55 / 25.4, 45, 0.3],
    [40 / 25.4, 89, 1.2],
  ])('of %f a unit at %f degrees finds both harmonics', (ruling, angle, level) => {
    const found = findScreen(dots(ruling, angle, level))!
    const first = of(found.first)
    const second = of(found.second!)
    const off = (a: number) => ((((a - angle + 45) % 90) + 90) % 90) - 45
    expect(Math.abs(first.ruling - ruling) / ruling).toBeLessThan(0.002)
    expect(Math.abs(second.ruling - ruling) / ruling).toBeLessThan(0.002)
    expect(Math.abs(off(first.angle))).toBeLessThan(0.1)
    expect(Math.abs(off(second.angle))).toBeLessThan(0.1)
    expect(Math.abs(second.angle - first.angle - 90)).toBeLessThan(0.2)
  })

  it('tells 15 from 75 degrees', () => {
    const angle = (degrees: number) => {
      const { angle: a } = of(findScreen(dots(50 / 25.4, degrees, 0.2))!.first)
      return ((a % 90) + 90) % 90
    }
    expect(angle(15)).toBeCloseTo(15, 0)
    expect(angle(75)).toBeCloseTo(75, 0)
  })

  it('agrees with a screen known in closed form (39 cycles over 1024 pixels at atan2(15, 36), 45.703 lines/in at 1200 dpi, 22.620 degrees)', () => {
    const side = 512
    const values = Float32Array.from({ length: side * side }, (_, i) => {
      const x = i % side
      const y = Math.floor(i / side)
      const u = (39 / 1024) * ((36 / 39) * x + (15 / 39) * y)
      const v = (39 / 1024) * ((-15 / 39) * x + (36 / 39) * y)
      return Math.cos(2 * Math.PI * u) + Math.cos(2 * Math.PI * v) > 0 ? 0 : 1
    })
    const found = findScreen({ columns: side, rows: side, values, pitch: 1 / 1200 })!
    const { ruling, angle } = of(found.first)
    expect(ruling).toBeCloseTo(45.703, 1)
    expect(angle).toBeCloseTo(22.62, 1)
  })

  it('has one harmonic of a line screen, and none of noise or of nothing', () => {
    const lines = dots(50 / 25.4, 30, 0)
    const turn = Math.PI / 6
    for (let i = 0; i < lines.values.length; i++) {
      const x = (i % 120) * 0.05
      const y = Math.floor(i / 120) * 0.05
      lines.values[i] = 0.5 + 0.5 * Math.cos(2 * Math.PI * (50 / 25.4) * (x * Math.cos(turn) + y * Math.sin(turn)))
    }
    const found = findScreen(lines)!
    expect(found.second).toBeNull()
    expect(of(found.first).angle).toBeCloseTo(30, 1)
    let state = 1
    const noise = Float32Array.from(lines.values, () => {
      state = (state * 1664525 + 1013904223) % 4294967296
      return state / 4294967296
    })
    expect(findScreen({ ...lines, values: noise })).toBeNull()
    expect(findScreen({ ...lines, values: new Float32Array(lines.values.length).fill(0.5) })).toBeNull()
    expect(findScreen({ columns: 4, rows: 4, values: new Float32Array(16), pitch: 1 })).toBeNull()
  })
})

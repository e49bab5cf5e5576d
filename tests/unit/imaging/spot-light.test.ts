import { describe, expect, it } from 'vitest'
import { normalCdf } from '../../../src/imaging/normal.js'
import { spotLight } from '../../../src/imaging/spot-light.js'

const table = Float32Array.from({ length: 65536 }, (_, i) => i / 65535)

/** A square hole with sides on the axes, blurred by a Gaussian and by the pixel, exact by error functions. */
function holeWindow(side: number, sigma: number, at: number, second = false) {
  const n = 40
  const part = (x: number, centre: number) => {
    const edge = (z: number) => normalCdf(z / sigma)
    return edge(x - centre + side / 2) - edge(x - centre - side / 2)
  }
  const codes = new Uint16Array(n * n)
  for (let r = 0; r < n; r++)
    for (let c = 0; c < n; c++) {
      let light = part(c, at) * part(r, at)
      if (second) light += part(c, at + 9) * part(r, at)
      codes[r * n + c] = Math.round(65535 * (0.001 + 0.899 * Math.min(1, light)))
    }
  return { column: 0, row: 0, width: n, height: n, codes }
}

function boxOf(window: ReturnType<typeof holeWindow>, level: number, to = 40) {
  const box = { left: 99, top: 99, right: -1, bottom: -1 }
  for (let i = 0; i < window.codes.length; i++) {
    const c = i % 40
    const r = Math.floor(i / 40)
    if (!(window.codes[i]! > level) || c >= to) continue
    box.left = Math.min(box.left, c)
    box.right = Math.max(box.right, c)
    box.top = Math.min(box.top, r)
    box.bottom = Math.max(box.bottom, r)
  }
  return box
}

describe('spotLight', () => {
  it.each([
    [2, 0.6, 20],
    [2, 1.2, 20.4],
    [5, 0.9, 19.7],
    [3.3, 1, 20.25],
  ])('tells the area of a hole of %f pixels through a blur of %f', (side, sigma, at) => {
    const window = holeWindow(side, sigma, at)
    const level = 8000
    const spot = spotLight(window, table, boxOf(window, level), 1, level, 7, 0.001, 0.9)!
    expect(Math.abs(spot.area - side * side)).toBeLessThan(0.01 * side * side)
    expect(spot.column).toBeCloseTo(at, 2)
    expect(spot.row).toBeCloseTo(at, 2)
  })

  it('gives the light between two holes to the nearer', () => {
    const window = holeWindow(3, 0.8, 15, true)
    const spot = spotLight(window, table, boxOf(window, 8000, 20), 1, 8000, 7, 0.001, 0.9)!
    expect(Math.abs(spot.area - 9)).toBeLessThan(0.1)
  })

  it('knows a dark spot as the mirror of a light one, and nothing where there is none', () => {
    const { codes, ...rest } = holeWindow(3, 0.8, 20)
    const dark = { ...rest, codes: codes.map(code => 65535 - code) }
    const box = boxOf({ ...rest, codes }, 8000)
    const spot = spotLight(dark, table, box, -1, 65535 - 8000, 7, 1 - 0.001, 0.1)!
    expect(Math.abs(spot.area - 9)).toBeLessThan(0.1)
    const even = { ...rest, codes: new Uint16Array(1600).fill(500) }
    expect(spotLight(even, table, box, 1, 8000, 7, 0.001, 0.9)).toBeNull()
  })
})

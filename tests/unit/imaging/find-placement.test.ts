import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../src/demo/random.js'
import { findPlacement, type GridPicture } from '../../../src/imaging/find-placement.js'
import { mapped, type PlaneMap } from '../../../src/imaging/fit-plane-map.js'
import { agreement, refinePlacement } from '../../../src/imaging/refine-placement.js'

/** Random bars and discs; `map` takes their own um to where they lie on the picture. */
function picture(seed: number, columns: number, rows: number, cell: number, map: PlaneMap | null): GridPicture {
  const random = seededRandom(seed)
  const shapes = Array.from({ length: 26 }, () => ({
    x: random.between(4000, 46_000),
    y: random.between(4000, 32_000),
    w: random.between(500, 6000),
    h: random.between(500, 3000),
    round: random.uniform() < 0.3,
  }))
  const values = new Float32Array(columns * rows)
  const at = map === null ? { xx: 1, xy: 0, yx: 0, yy: 1, x0: 0, y0: 0 } : map
  const det = at.xx * at.yy - at.xy * at.yx
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      let sum = 0
      // By area: fewer points a cell would alias with its phase and move the edges.
      for (let k = 0; k < 16; k++) {
        const px = (c + ((k % 4) - 1.5) / 4) * cell - at.x0
        const py = (r + (Math.floor(k / 4) - 1.5) / 4) * cell - at.y0
        const x = (at.yy * px - at.xy * py) / det
        const y = (-at.yx * px + at.xx * py) / det
        const inside = shapes.some(s =>
          s.round ? Math.hypot(x - s.x, y - s.y) < s.h : Math.abs(x - s.x) < s.w && Math.abs(y - s.y) < s.h / 3,
        )
        sum += inside ? 1 / 16 : 0
      }
      values[r * columns + c] = sum
    }
  return { columns, rows, values, x0: 0, y0: 0, dx: cell, dy: cell }
}

/** A turn about (25, 18) mm, then a shift of the middle to (x, y). */
function turned(degrees: number, mirrored: boolean, x: number, y: number, scale = 1): PlaneMap {
  const a = (degrees * Math.PI) / 180
  const flip = mirrored ? -1 : 1
  const [xx, yx, xy, yy] = [Math.cos(a) * scale, Math.sin(a) * scale, -Math.sin(a) * flip, Math.cos(a) * flip]
  return { xx, yx, xy, yy, x0: x - xx * 25_000 - xy * 18_000, y0: y - yx * 25_000 - yy * 18_000 }
}

const farthest = (a: PlaneMap, b: PlaneMap) =>
  Math.max(
    ...[
      [5000, 5000],
      [45_000, 5000],
      [5000, 31_000],
      [45_000, 31_000],
    ].map(([x, y]) => {
      const p = mapped(a, x!, y!)
      const q = mapped(b, x!, y!)
      return Math.hypot(p.x - q.x, p.y - q.y)
    }),
  )

describe('findPlacement and refinePlacement', () => {
  const first = picture(1, 250, 180, 200, null)
  for (const [name, degrees, mirrored, x, y, scale] of [
    ['turned by 5 degrees, mirrored', 5, true, 29_000, 30_000, 1.003],
    ['upside down', 178, false, 30_000, 29_000, 0.997],
    ['a quarter turn and a bit, mirrored', -93, true, 30_000, 28_000, 1],
    ['any turn', 127, false, 29_000, 30_000, 1],
  ] as const)
    it(`lays one picture on the other: ${name}`, () => {
      const truth = turned(degrees, mirrored, x, y, scale)
      const second = picture(1, 400, 390, 150, truth)
      const [best] = findPlacement(first, second)
      expect(best!.mirrored).toBe(mirrored)
      expect(farthest(best!.map, truth)).toBeLessThan(1500)
      const map = refinePlacement(first, second, best!.map, { fromCell: 500, toCell: 200 })!
      // A tenth of a cell.
      expect(farthest(map, truth)).toBeLessThan(20)
      expect(agreement(first, second, map, 200).correlation).toBeGreaterThan(0.97)
    })

  it('finds no likeness between two different pictures', () => {
    const [best] = findPlacement(first, picture(2, 250, 180, 200, null))
    expect(best!.correlation).toBeLessThan(0.5)
  })

  it('holds on to nothing where there is nothing', () => {
    const empty = { ...first, values: new Float32Array(first.values.length) }
    const still = { xx: 1, xy: 0, yx: 0, yy: 1, x0: 0, y0: 0 }
    expect(refinePlacement(empty, first, still, { fromCell: 500, toCell: 200 })).toBeNull()
    expect(agreement(empty, first, still, 200)).toEqual({ correlation: 0, inView: 0 })
  })
})

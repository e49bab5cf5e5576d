import { describe, expect, it } from 'vitest'
import { lostNozzles } from '../../../src/locate/lost-nozzles.js'
import type { StripForm } from '../../../src/model/strip.js'
import { stripLayout } from '../../../src/strip/strip-layout.js'
import { paintedScan } from '../../support/bare-scan.js'

const DPI = 600
const PER_MM = DPI / 25.4
const FORM: StripForm = 'short'
/** 5 mm of film round the strip, upright. */
const MAP = { x0: 5 * PER_MM, y0: 5 * PER_MM, xx: PER_MM, yx: 0, xy: 0, yy: PER_MM }
const SOLID = 0.001

/** Lines that the rail and the solid of a strip show when their ink passes `light` (strip, mm), each pixel by 4 samples a side. */
function found(light: (x: number, y: number) => number) {
  const { fields, width, height } = stripLayout(FORM, 'head', null)
  const inked = fields.flatMap(({ kind, rect }) => (kind === 'rail' || kind === 'solid' ? [rect] : []))
  const scan = paintedScan(
    Math.ceil((width + 10) * PER_MM),
    Math.ceil((height + 10) * PER_MM),
    (c, r) => {
      const at = (k: number, o: number) => (k - 0.375 + o / 4) / PER_MM - 5
      let sum = 0
      for (let i = 0; i < 4; i++)
        for (let j = 0; j < 4; j++) {
          const x = at(c, j)
          const y = at(r, i)
          const ink = inked.some(q => x > q.x && y > q.y && x < q.x + q.width && y < q.y + q.height)
          sum += ink ? light(x, y) : 0.9
        }
      return sum / 16
    },
    { noise: 3 },
  )
  const corners = [[0, 0]].map(() => ({ column: 0, row: 0 }))
  return lostNozzles(
    { scan, strips: [{ form: FORM, mirrored: false, likeness: 1, map: MAP, gainUm: { x: 0, y: 0 }, corners }] },
    0.9,
  )
}

describe('lostNozzles', () => {
  it('finds a line right through the rail, and one right through the solid, with what they let through', () => {
    // 20 um wide, as light as a fifth of clear film: 4 um open.
    const rail = found(x => (Math.abs(x - 22) < 0.01 ? 0.2 : SOLID))
    expect(rail.length).toBeGreaterThanOrEqual(1)
    // The solid lies over the rail: the line goes through both.
    for (const { from, to, openMm2 } of rail) {
      expect(from.column / PER_MM - 5).toBeCloseTo(22, 1)
      expect(to.column / PER_MM - 5).toBeCloseTo(22, 1)
      const lengthMm = Math.hypot(to.column - from.column, to.row - from.row) / PER_MM
      expect((1000 * openMm2) / lengthMm).toBeGreaterThan(2.5)
      expect((1000 * openMm2) / lengthMm).toBeLessThan(6)
    }
    const along = found((_, y) => (Math.abs(y - 12.9) < 0.01 ? 0.2 : SOLID))
    expect(along).toHaveLength(1)
    expect(along[0]!.from.row / PER_MM - 5).toBeCloseTo(12.9, 1)
  })

  it('takes neither bands, nor a slanted scratch, nor one that ends half-way, for a lost nozzle', () => {
    expect(found(() => SOLID)).toEqual([])
    expect(found((_, y) => SOLID * 10 ** (0.12 * Math.sin(2 * Math.PI * y)))).toEqual([])
    expect(found((x, y) => (Math.abs(x - 22 - 0.3 * (y - 6)) < 0.03 ? 0.9 : SOLID))).toEqual([])
    expect(found((x, y) => (Math.abs(x - 22) < 0.03 && y > 5 && y < 12.5 ? 0.9 : SOLID))).toEqual([])
  })
})

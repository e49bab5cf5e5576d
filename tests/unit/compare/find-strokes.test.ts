import { describe, expect, it } from 'vitest'
import { findStrokes } from '../../../src/compare/find-strokes.js'
import type { GridPicture } from '../../../src/imaging/find-placement.js'
import { expectWithin } from '../../support/expect-within.js'

const CELL_UM = 100

/** Ink by place, um from the picture's corner; cells by area coverage, 8 x 8 looks. */
function picture(ink: (x: number, y: number) => boolean, columns = 120, rows = 90): GridPicture {
  const values = new Float32Array(columns * rows)
  for (let i = 0; i < values.length; i++)
    for (let k = 0; k < 64; k++) {
      const x = ((i % columns) + ((k % 8) + 0.5) / 8) * CELL_UM
      const y = (Math.floor(i / columns) + (Math.floor(k / 8) + 0.5) / 8) * CELL_UM
      if (ink(x, y)) values[i]! += 1 / 64
    }
  return { columns, rows, values, x0: CELL_UM / 2, y0: CELL_UM / 2, dx: CELL_UM, dy: CELL_UM }
}

const cell = { abs: 8, unit: 'um', because: 'a twelfth of a cell: where to measure, not a measurement' }

describe('findStrokes', () => {
  it('finds a slanted line by its middle, direction and width', () => {
    const slope = 0.1
    const strokes = findStrokes(
      picture((x, y) => Math.abs(x - 6000 - slope * (y - 4500)) < 200 && y > 1000 && y < 8000),
    )
    const lines = strokes.filter(stroke => stroke.kind === 'line')
    expect(lines.length).toBeGreaterThanOrEqual(2)
    for (const { x, y, tx, ty, width, length, room } of lines) {
      expectWithin(x - 6000 - slope * (y - 4500), 0, cell)
      expectWithin(tx / ty, slope, { abs: 0.01, unit: '', because: 'edges within a twelfth of a cell on 2 mm' })
      expectWithin(Math.hypot(tx, ty), 1, { abs: 1e-12, unit: '', because: 'a unit vector' })
      expectWithin(width, 400 / Math.hypot(1, slope), cell)
      expect(length).toBeGreaterThanOrEqual(900)
      expect(length).toBeLessThanOrEqual(2700)
      expect(room).toBeGreaterThan(350)
      // Corners are rounded: nothing within 0.35 mm of an end.
      expect(y - length / 2).toBeGreaterThan(1300)
      expect(y + length / 2).toBeLessThan(7700)
    }
  })

  it('finds the gap between two solids as a gap, lying down as well', () => {
    const between = (y: number) => (y > 1000 && y < 4000) || (y > 4600 && y < 8000)
    const strokes = findStrokes(picture((x, y) => x > 2000 && x < 10_000 && between(y)))
    const gaps = strokes.filter(stroke => stroke.kind === 'gap' && Math.abs(stroke.y - 4300) < 100)
    expect(gaps.length).toBeGreaterThanOrEqual(2)
    for (const { y, width, tx } of gaps) {
      expectWithin(y, 4300, cell)
      expectWithin(width, 600, cell)
      expectWithin(Math.abs(tx), 1, { abs: 1e-4, unit: '', because: 'it lies along the rows' })
    }
  })

  it('leaves out what cannot be measured: neighbours too near, curves, tints, what touches the rim', () => {
    const of = (ink: (x: number, y: number) => boolean) => findStrokes(picture(ink)).length
    const inside = (y: number) => y > 1000 && y < 8000
    // Lines of 0.3 mm with 0.2 mm between.
    expect(of((x, y) => inside(y) && x > 3000 && x < 8000 && x % 500 < 300)).toBe(0)
    // A ring of 1 mm radius: 0.9 mm of it is bent by more than a block.
    expect(of((x, y) => Math.abs(Math.hypot(x - 6000, y - 4500) - 1000) < 200)).toBe(0)
    // Half the ink everywhere in a patch, drawn finer than a cell.
    expect(of((x, y) => inside(y) && x > 3000 && x < 8000 && (x + y) % 50 < 25)).toBe(0)
    // A band from rim to rim.
    expect(of(x => x < 800)).toBe(0)
    expect(of(() => false)).toBe(0)
  })
})

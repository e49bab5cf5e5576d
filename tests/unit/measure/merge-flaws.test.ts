import { describe, expect, it } from 'vitest'
import { mergeFlaws } from '../../../src/measure/merge-flaws.js'
import { flaws } from '../../support/flaw-evidence.js'

const UM = { across: 20, along: 20 }
const spot = (column: number, row: number, half = 2) => {
  const [flaw] = flaws({ pinhole: 1 }).list
  return {
    ...flaw!,
    place: { column, row },
    corners: [
      { column: column - half, row: row - half },
      { column: column + half, row: row - half },
      { column: column + half, row: row + half },
      { column: column - half, row: row + half },
    ],
  }
}
const line = (x0: number, y0: number, x1: number, y1: number) => {
  const [flaw] = flaws({ scratch: 1 }).list
  const long = Math.hypot(x1 - x0, y1 - y0)
  const [nx, ny] = [-(y1 - y0) / long, (x1 - x0) / long]
  return {
    ...flaw!,
    lengthMm: (long * 20) / 1000,
    place: { column: (x0 + x1) / 2, row: (y0 + y1) / 2 },
    corners: [
      { column: x0 + nx, row: y0 + ny },
      { column: x1 + nx, row: y1 + ny },
      { column: x1 - nx, row: y1 - ny },
      { column: x0 - nx, row: y0 - ny },
    ],
  }
}

describe('mergeFlaws', () => {
  it('makes spots that are one to the eye one flaw: areas add', () => {
    const merged = mergeFlaws([spot(100, 100), spot(107, 100), spot(300, 100)], UM)
    expect(merged.map(f => f.members).sort()).toEqual([1, 2])
    const pair = merged.find(f => f.members === 2)!
    expect(pair.leakedMm2).toBeCloseTo(2 * spot(0, 0).leakedMm2, 12)
    expect(pair.diameterUm).toBeCloseTo(100 * Math.SQRT2, 9)
    expect(pair.place).toEqual({ column: 103.5, row: 100 })
  })

  it('keeps light and dark apart', () => {
    expect(mergeFlaws([spot(100, 100), { ...spot(104, 100), kind: 'speck' as const }], UM)).toHaveLength(2)
  })

  it('leaves what lies in the bend of a long hair to itself', () => {
    const hair = { ...spot(100, 100, 60), kind: 'hair' as const, lengthMm: 4 }
    const speck = { ...spot(104, 100), kind: 'speck' as const }
    expect(mergeFlaws([hair, speck], UM)).toHaveLength(2)
    expect(mergeFlaws([{ ...hair, lengthMm: 0.9 }, speck], UM)).toHaveLength(1)
  })

  it('joins the pieces of a scratch that breaks, not one beside it nor one across', () => {
    const merged = mergeFlaws([line(0, 0, 100, 50), line(140, 70, 240, 120)], UM)
    expect(merged).toHaveLength(1)
    expect(merged[0]!.lengthMm).toBeCloseTo((Math.hypot(240, 120) * 20) / 1000, 6)
    expect(mergeFlaws([line(0, 0, 100, 50), line(0, 40, 100, 90)], UM)).toHaveLength(2)
    expect(mergeFlaws([line(0, 0, 100, 50), line(60, 60, 90, 0)], UM)).toHaveLength(2)
  })
})

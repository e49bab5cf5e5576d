import { describe, expect, it } from 'vitest'
import { blockOverview } from '../../../src/imaging/block-overview.js'
import { CLEAR, DARK, findStraightEdges, NEITHER } from '../../../src/imaging/straight-edges.js'
import { expectWithin } from '../../support/expect-within.js'
import { memoryScan } from '../../support/memory-scan.js'

const LINEAR = Float32Array.from({ length: 65536 }, (_, code) => code / 65535)
const OPTIONS = { leastLengthPx: 140, trimPx: 24, leastPlateauPx: 24, widestGapPx: 56 }

/** A dark rectangle on clear ground, turned, area coverage 4 x 4 a pixel. */
function page(turnDegrees: number) {
  const size = 600
  const codes = new Uint16Array(size * size)
  const c = Math.cos((turnDegrees * Math.PI) / 180)
  const s = Math.sin((turnDegrees * Math.PI) / 180)
  for (let r = 0; r < size; r++)
    for (let q = 0; q < size; q++) {
      let inside = 0
      for (let k = 0; k < 16; k++) {
        const x = q + ((k & 3) + 0.5) / 4 - 0.5 - 300
        const y = r + ((k >> 2) + 0.5) / 4 - 0.5 - 300
        if (Math.abs(x * c + y * s) < 150 && Math.abs(-x * s + y * c) < 120) inside++
      }
      codes[r * size + q] = 60_000 - (58_000 * inside) / 16
    }
  const overview = blockOverview(memoryScan(codes, size, size, 1200), 8, LINEAR)
  const labels = Uint8Array.from(overview.light, light => (light > 0.9 ? CLEAR : light < 0.05 ? DARK : NEITHER))
  return { overview, labels }
}

describe('findStraightEdges', () => {
  it.each([0.3, 3, 10, 30])('finds the four sides of a rectangle turned by %f degrees, to a tenth of a block', turn => {
    const { overview, labels } = page(turn)
    const edges = findStraightEdges(overview, labels, OPTIONS)
    expect(edges).toHaveLength(4)
    expect(edges.filter(e => e.direction === 'across')).toHaveLength(2)
    expect(edges.filter(e => e.clearSide === 'after')).toHaveLength(2)
    const t = (turn * Math.PI) / 180
    for (const edge of edges) {
      for (const p of [edge.from, edge.to]) {
        const x = (p.column - 300) * Math.cos(t) + (p.row - 300) * Math.sin(t)
        const y = -(p.column - 300) * Math.sin(t) + (p.row - 300) * Math.cos(t)
        const off = Math.min(Math.abs(Math.abs(x) - 150), Math.abs(Math.abs(y) - 120))
        expectWithin(off, 0, { abs: 1, unit: 'px', because: 'an eighth of a block of 8 px' })
      }
      expect(edge.lengthPx).toBeGreaterThan(140)
      expect(edge.clearPx).toBeGreaterThanOrEqual(24)
    }
  })

  it('finds no edge where the plateaus are too narrow, and refuses labels of another size', () => {
    const { overview, labels } = page(3)
    expect(findStraightEdges(overview, labels, { ...OPTIONS, leastPlateauPx: 320 })).toEqual([])
    expect(() => findStraightEdges(overview, labels.subarray(1), OPTIONS)).toThrow('labels must have 5625 entries')
  })

  it('finds the same down the columns as along the rows of the page turned over, under other labels too', () => {
    const { overview, labels } = page(3)
    const { columns, rows } = overview
    const over = <T extends Float32Array | Uint8Array>(grid: T) =>
      grid.map((_, i) => grid[(i % rows) * columns + Math.floor(i / rows)]!) as T
    const turned = { ...overview, columns: rows, rows: columns, light: over(overview.light) }
    const renamed = over(labels).map(label => (label === DARK ? 9 : label === CLEAR ? 7 : 3))
    const plain = findStraightEdges(overview, labels, OPTIONS)
    const swapped = findStraightEdges(turned, renamed, OPTIONS, { dark: 9, clear: 7 })
    const place = ({ column, row }: { column: number; row: number }) => ({ column: row, row: column })
    const back = swapped.map(edge => ({
      ...edge,
      from: place(edge.from),
      to: place(edge.to),
      direction: edge.direction === 'across' ? 'along' : 'across',
    }))
    expect(plain).toHaveLength(4)
    expect(back).toEqual(expect.arrayContaining(plain))
  })

  it('calls the rim of a disc no straight edge', () => {
    const { overview } = page(0)
    const labels = new Uint8Array(overview.light.length)
    for (let r = 0; r < overview.rows; r++)
      for (let c = 0; c < overview.columns; c++) {
        const d = Math.hypot(r - 37, c - 37)
        labels[r * overview.columns + c] = d < 14.5 ? DARK : d > 16.5 ? CLEAR : NEITHER
      }
    const disc = { ...overview, light: Float32Array.from(labels, l => (l === DARK ? 0.01 : l === CLEAR ? 0.9 : 0.45)) }
    expect(findStraightEdges(disc, labels, OPTIONS)).toEqual([])
  })
})

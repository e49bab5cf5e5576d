import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { blockOverview } from '../../../src/imaging/block-overview.js'
import { findSpots, type Spots } from '../../../src/imaging/find-spots.js'
import { labelComponents } from '../../../src/imaging/label-components.js'
import { memoryScan } from '../../support/memory-scan.js'

const table = Float32Array.from({ length: 65536 }, (_, i) => i / 65535)

function spotsOf(width: number, height: number, code: (c: number, r: number) => number, most = 100) {
  const codes = Uint16Array.from({ length: width * height }, (_, i) => code(i % width, Math.floor(i / width)))
  const scan = memoryScan(codes, width, height, 600)
  const levels = { lightAbove: 10_000, middle: 30_000, darkBelow: 50_000 }
  return findSpots(scan, blockOverview(scan, 4, table), levels, { longestPx: 20, most })
}

describe('findSpots', () => {
  it('finds light in dark and dark in light, with box, centre and moments', () => {
    const { light, dark } = spotsOf(90, 70, (c, r) => {
      const ink = c < 45
      if (ink && c >= 20 && c < 23 && r >= 30 && r < 32) return 60_000
      if (!ink && (c - 70) ** 2 + (r - 40) ** 2 <= 36) return 1000
      return ink ? 1000 : 60_000
    })
    expect(light.count).toBe(1)
    expect([light.left[0], light.top[0], light.right[0], light.bottom[0], light.cells[0]]).toEqual([20, 30, 22, 31, 6])
    expect([light.column[0], light.row[0]]).toEqual([21, 30.5])
    // A bar of 3 x 2: sides over root 12.
    expect(light.long[0]).toBeCloseTo(3 / Math.sqrt(12), 6)
    expect(light.short[0]).toBeCloseTo(2 / Math.sqrt(12), 6)
    expect(dark.count).toBe(1)
    // Of a disc both are a quarter of the diameter.
    expect(dark.long[0]).toBeCloseTo(Math.sqrt(dark.cells[0]! / Math.PI) / 2, 1)
  })

  it('keeps apart at the middle level what runs together at the outer ones', () => {
    const { dark, lower } = spotsOf(60, 40, (c, r) => {
      if (r >= 10 && r < 16 && ((c >= 10 && c < 16) || (c >= 18 && c < 24))) return 1000
      return r >= 10 && r < 16 && c >= 16 && c < 18 ? 40_000 : 60_000
    })
    expect(dark.count).toBe(1)
    expect(lower.count).toBe(2)
  })

  it('lets go what is larger than asked, and says when there are more than it keeps', () => {
    const dots = (c: number, r: number) => (c % 6 === 3 && r % 6 === 3 ? 1000 : 60_000)
    expect(spotsOf(60, 60, dots).dark.count).toBe(100)
    const few = spotsOf(60, 60, dots, 30).dark
    expect([few.count, few.overflow]).toEqual([30, true])
    expect(spotsOf(60, 60, c => (c === 30 ? 1000 : 60_000)).dark.count).toBe(0)
  })

  it('finds on any page, at each level, the groups that labelling the whole finds', () => {
    const steps = [1000, 20_000, 40_000, 60_000]
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 37 }),
        fc.array(fc.integer({ min: 0, max: 3 }), { minLength: 1, maxLength: 500 }),
        // Blocks all alike are passed by unseen: every other page has large even parts.
        fc.boolean(),
        (width, cells, coarse) => {
          const height = Math.ceil(cells.length / width)
          const code = (c: number, r: number) =>
            steps[cells[coarse ? ((r >> 3) * 7 + (c >> 3)) % cells.length : r * width + c] ?? 0]!
          const codes = Uint16Array.from({ length: width * height }, (_, i) => code(i % width, Math.floor(i / width)))
          const scan = memoryScan(codes, width, height, 600)
          const levels = { lightAbove: 10_000, middle: 30_000, darkBelow: 50_000 }
          const found = findSpots(scan, blockOverview(scan, 4, table), levels, { longestPx: 600, most: 1000 })
          const kinds: [Spots, (code: number) => boolean][] = [
            [found.light, k => k > 10_000],
            [found.upper, k => k > 30_000],
            [found.dark, k => k < 50_000],
            [found.lower, k => k <= 30_000],
          ]
          for (const [spots, marked] of kinds) {
            const marks = Uint8Array.from(codes, k => (marked(k) ? 1 : 0))
            const { labels, groups } = labelComponents(marks, width, height)
            const sums = groups.map(() => ({ column: 0, row: 0 }))
            labels.forEach((label, i) => {
              if (label === 0) return
              sums[label - 1]!.column += i % width
              sums[label - 1]!.row += Math.floor(i / width)
            })
            const wanted = groups.map((g, i) => {
              const { column, row } = sums[i]!
              return [g.top, g.left, g.right, g.bottom, g.cells, rounded(column / g.cells), rounded(row / g.cells)]
            })
            const ours = Array.from({ length: spots.count }, (_, i) => [
              ...[spots.top, spots.left, spots.right, spots.bottom, spots.cells].map(list => list[i]!),
              rounded(spots.column[i]!),
              rounded(spots.row[i]!),
            ])
            expect(ours.sort(inOrder)).toEqual(wanted.sort(inOrder))
          }
        },
      ),
      { numRuns: 200, seed: 1 },
    )
  })

  it('uses the places of closed groups again, and fetches them before their room is full', () => {
    // Far more groups of every kind than a page of this width has room for at once.
    const dots = (c: number, r: number) => (c % 4 < 2 && r % 2 === 0 ? 60_000 : 1000)
    const { light, upper } = spotsOf(32, 4000, dots, 20_000)
    expect([light.count, upper.count, light.cells[15_999], light.row[15_999]]).toEqual([16_000, 16_000, 2, 3998])
  })
})

function rounded(value: number): number {
  return Math.round(value * 1e6) / 1e6
}

function inOrder(a: readonly number[], b: readonly number[]): number {
  for (const [i, value] of a.entries()) if (value !== b[i]) return value - b[i]!
  return 0
}

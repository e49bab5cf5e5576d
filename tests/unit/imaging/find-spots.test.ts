import { describe, expect, it } from 'vitest'
import { blockOverview } from '../../../src/imaging/block-overview.js'
import { findSpots } from '../../../src/imaging/find-spots.js'
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
})

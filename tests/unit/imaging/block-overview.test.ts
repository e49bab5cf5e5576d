import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { blockCentre, blockOverview } from '../../../src/imaging/block-overview.js'
import { memoryScan } from '../../support/memory-scan.js'

const LINEAR = Float32Array.from({ length: 65536 }, (_, code) => code / 65535)

describe('blockOverview', () => {
  it('averages light and keeps extremes, partial blocks over the pixels they have', () => {
    const codes = Uint16Array.from([100, 200, 300, 300, 400, 500, 700, 800, 900])
    const overview = blockOverview(memoryScan(codes, 3, 3, 1200), 2, LINEAR)
    expect(overview.columns).toBe(2)
    expect(overview.rows).toBe(2)
    expect([...overview.light].map(v => Math.round(v * 65535))).toEqual([250, 400, 750, 900])
    expect([...overview.least]).toEqual([100, 300, 700, 900])
    expect([...overview.greatest]).toEqual([400, 500, 800, 900])
  })

  it('averages light, not codes: half light 0.05 D and half 4.05 D is 0.351 D (docs check T02, computed)', () => {
    const table = Float32Array.from({ length: 65536 }, (_, code) => 10 ** (-code / 10_000))
    const overview = blockOverview(memoryScan(Uint16Array.from([500, 40_500]), 2, 1, 1200), 2, table)
    expect(-Math.log10(overview.light[0]!)).toBeCloseTo(0.350987, 5)
  })

  it('joins blocks across bands', () => {
    const codes = new Uint16Array(4 * 200).map((_, i) => Math.floor(i / 4))
    const overview = blockOverview(memoryScan(codes, 4, 200, 1200), 100, LINEAR)
    expect([...overview.least]).toEqual([0, 100])
    expect([...overview.greatest]).toEqual([99, 199])
    expect([...overview.light].map(v => Math.round(v * 65535 * 10) / 10)).toEqual([49.5, 149.5])
  })

  it('is what a plain loop over the pixels gives, for any size of page and block', () => {
    const sizes = fc.record({
      width: fc.integer({ min: 1, max: 90 }),
      height: fc.integer({ min: 1, max: 150 }),
      blockPx: fc.integer({ min: 1, max: 40 }),
      seed: fc.integer({ min: 1, max: 1e6 }),
    })
    // Light that no sum in float64 rounds: what differs is a fault of the loop.
    const table = Float32Array.from({ length: 65536 }, (_, code) => (code * code) / 2 ** 32)
    fc.assert(
      fc.property(sizes, ({ width, height, blockPx, seed }) => {
        let state = seed
        const codes = Uint16Array.from({ length: width * height }, () => {
          state = (state * 48271) % 2147483647
          return state
        })
        const overview = blockOverview(memoryScan(codes, width, height, 1200), blockPx, table)
        for (let r = 0; r < overview.rows; r++)
          for (let c = 0; c < overview.columns; c++) {
            const block: number[] = []
            for (let y = r * blockPx; y < Math.min(height, (r + 1) * blockPx); y++)
              for (let x = c * blockPx; x < Math.min(width, (c + 1) * blockPx); x++) block.push(codes[y * width + x]!)
            const at = r * overview.columns + c
            const mean = block.reduce((sum, code) => sum + table[code]!, 0) / block.length
            expect(overview.light[at]).toBe(Math.fround(mean))
            expect([overview.least[at], overview.greatest[at]]).toEqual([Math.min(...block), Math.max(...block)])
          }
      }),
      { numRuns: 60, seed: 11 },
    )
  })

  it('refuses a block of no pixels and a short table', () => {
    const scan = memoryScan(new Uint16Array(4), 2, 2, 1200)
    for (const blockPx of [0, 1.5, Number.NaN]) expect(() => blockOverview(scan, blockPx, LINEAR)).toThrow(RangeError)
    expect(() => blockOverview(scan, 1, new Float32Array(256))).toThrow('table must have 65536 entries; got 256')
    expect(blockOverview(scan, 1, LINEAR).columns).toBe(2)
  })

  it('places the centre of a block between its pixels', () => {
    expect(blockCentre({ blockPx: 8 }, 0)).toBe(3.5)
    expect(blockCentre({ blockPx: 1 }, 5)).toBe(5)
  })
})

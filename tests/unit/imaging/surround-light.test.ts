import { describe, expect, it } from 'vitest'
import { blockOverview } from '../../../src/imaging/block-overview.js'
import { normalCdf } from '../../../src/imaging/normal.js'
import { type BroadSpread, surroundLight } from '../../../src/imaging/surround-light.js'
import { paintedScan } from '../../support/bare-scan.js'
import { expectWithin } from '../../support/expect-within.js'

/** 100 dpi, so that 40 mm are 157 pixels; left half dark. */
const scan = paintedScan(320, 160, c => (c < 160 ? 0 : 1), { dpi: 100, noise: 0 })
const overview = blockOverview(scan.scan, 1, scan.light.transmittance)

const gaussian = (sigmaUm: number): BroadSpread => ({ shape: 'gaussian', sigmaUm, outside: 'rim' })

describe('surroundLight', () => {
  it('is the Gaussian average across a straight boundary', () => {
    const light = surroundLight(overview, scan.umPerPixel, [gaussian(8000)])
    for (const column of [60, 120, 160, 200, 260]) {
      const wanted = normalCdf(((column - 159.5) * 254) / 8000)
      expectWithin(light.at(column, 80)[0]!, wanted, {
        abs: 0.01,
        unit: 'T',
        because: 'cells of a quarter sigma, kernel cut at 3 sigma',
      })
    }
  })

  it('is the same everywhere for an endless kernel, and on an even page', () => {
    const all = surroundLight(overview, scan.umPerPixel, [{ shape: 'square', sigmaUm: null, outside: 'rim' }])
    expectWithin(all.at(0, 0)[0]!, 0.5, { abs: 0.01, unit: 'T', because: 'half the page is lit' })
    const even = paintedScan(90, 70, () => 0.8, { dpi: 100, noise: 0 })
    const flat = surroundLight(blockOverview(even.scan, 1, even.light.transmittance), even.umPerPixel, [gaussian(5000)])
    for (const [c, r] of [
      [0, 0],
      [45, 35],
      [89, 69],
    ] as const)
      expectWithin(flat.at(c, r)[0]!, 0.8, { abs: 1e-4, unit: 'T', because: 'rounding of codes' })
  })

  it('is what a square and a tent of the same standard deviation hold of the lit side (closed forms)', () => {
    const light = surroundLight(overview, scan.umPerPixel, [
      { shape: 'square', sigmaUm: 5000, outside: 'rim' },
      { shape: 'tent', sigmaUm: 5000, outside: 'rim' },
    ])
    for (const column of [120, 140, 160, 200]) {
      const x = ((column - 159.5) * 254) / 5000
      const [square, tent] = light.at(column, 80)
      const of = { abs: 0.02, unit: 'T', because: 'cells of a quarter sigma' }
      expectWithin(square!, Math.min(1, Math.max(0, 0.5 + x / Math.sqrt(12))), of)
      const t = Math.min(1, Math.abs(x) / Math.sqrt(6))
      expectWithin(tent!, 0.5 + Math.sign(x) * (t - (t * t) / 2), of)
    }
  })

  it('is half at the rim of an even page that lies in the dark', () => {
    const even = paintedScan(160, 160, () => 0.8, { dpi: 100, noise: 0 })
    const page = blockOverview(even.scan, 1, even.light.transmittance)
    const light = surroundLight(page, even.umPerPixel, [{ shape: 'gaussian', sigmaUm: 4000, outside: 'dark' }])
    expectWithin(light.at(0, 80)[0]!, 0.4, {
      abs: 0.05,
      unit: 'T',
      because: 'the middle of the first cell lies inside',
    })
    expectWithin(light.at(80, 80)[0]!, 0.8, { abs: 1e-3, unit: 'T', because: 'five sigmas from any rim' })
  })

  it('is what weighing every cell of a page round a place gives, its rim going on or dark', () => {
    const [columns, rows] = [41, 37]
    const light = Float32Array.from({ length: columns * rows }, (_, i) => ((i * 7919) % 101) / 100)
    const blocks = { ...overview, blockPx: 1, columns, rows, scanWidth: columns, scanHeight: rows, light }
    // Cells of two blocks, four to a sigma.
    const sigma: BroadSpread = gaussian(800)
    const around = surroundLight(blocks, { across: 100, along: 100 }, [sigma, { ...sigma, outside: 'dark' }])
    const [wide, high] = [21, 19]
    const cell = (c: number, r: number) => {
      const all = [0, 1].flatMap(j => [0, 1].map(i => [2 * c + i, 2 * r + j] as const))
      const there = all.filter(([x, y]) => x < columns && y < rows).map(([x, y]) => light[y * columns + x]!)
      return there.reduce((sum, value) => sum + value, 0) / there.length
    }
    const weights = Array.from({ length: 25 }, (_, k) => Math.exp(-0.5 * ((k - 12) / 4) ** 2))
    const total = weights.reduce((sum, w) => sum + w, 0)
    const clamp = (value: number, most: number) => Math.min(most, Math.max(0, value))
    for (const [column, row] of [
      [0, 0],
      [5, 18],
      [11, 9],
      [20, 3],
    ] as const) {
      let [rim, dark] = [0, 0]
      for (let j = 0; j < 25; j++)
        for (let i = 0; i < 25; i++) {
          const [c, r] = [column + i - 12, row + j - 12]
          const value = (weights[i]! * weights[j]! * cell(clamp(c, wide - 1), clamp(r, high - 1))) / total ** 2
          rim += value
          if (c >= 0 && r >= 0 && c < wide && r < high) dark += value
        }
      const found = around.at(2 * column + 0.5, 2 * row + 0.5)
      expect(found[0]).toBeCloseTo(rim, 10)
      expect(found[1]).toBeCloseTo(dark, 10)
    }
  })

  it('is the same whether or not what is round many places is kept', () => {
    const shapes = (['gaussian', 'tent', 'square'] as const).flatMap(shape =>
      (['rim', 'dark'] as const).map((outside): BroadSpread => ({ shape, sigmaUm: 2500, outside })),
    )
    const [few, many] = [0, 1].map(() => surroundLight(overview, scan.umPerPixel, shapes))
    for (let k = 0; k < 1000; k++) many!.at(k % 40, 100 + Math.floor(k / 40))
    for (let k = 0; k < 60; k++) {
      const [column, row] = [(k * 37) % 320, (k * 53) % 160]
      expect(many!.at(column, row)).toEqual(few!.at(column, row))
    }
  })

  it('refuses a kernel of no width', () => {
    for (const sigma of [0, -1, Number.NaN])
      expect(() => surroundLight(overview, scan.umPerPixel, [gaussian(sigma)])).toThrow('sigmaUm must be above 0')
  })
})

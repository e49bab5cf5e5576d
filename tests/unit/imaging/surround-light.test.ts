import { describe, expect, it } from 'vitest'
import { blockOverview } from '../../../src/imaging/block-overview.js'
import { normalCdf } from '../../../src/imaging/normal.js'
import { surroundLight } from '../../../src/imaging/surround-light.js'
import { paintedScan } from '../../support/bare-scan.js'
import { expectWithin } from '../../support/expect-within.js'

/** 100 dpi, so that 40 mm are 157 pixels; left half dark. */
const scan = paintedScan(320, 160, c => (c < 160 ? 0 : 1), { dpi: 100, noise: 0 })
const overview = blockOverview(scan.scan, 1, scan.light.transmittance)

describe('surroundLight', () => {
  it('is the Gaussian average across a straight boundary', () => {
    const light = surroundLight(overview, scan.umPerPixel, 8000)
    for (const column of [60, 120, 160, 200, 260]) {
      const wanted = normalCdf(((column - 159.5) * 254) / 8000)
      expectWithin(light.at(column, 80), wanted, {
        abs: 0.01,
        unit: 'T',
        because: 'cells of 1 mm, kernel cut at 3 sigma',
      })
    }
  })

  it('is the same everywhere for an endless kernel, and on an even page', () => {
    const all = surroundLight(overview, scan.umPerPixel, Number.POSITIVE_INFINITY)
    expectWithin(all.at(0, 0), 0.5, { abs: 0.01, unit: 'T', because: 'half the page is lit' })
    const even = paintedScan(90, 70, () => 0.8, { dpi: 100, noise: 0 })
    const flat = surroundLight(blockOverview(even.scan, 1, even.light.transmittance), even.umPerPixel, 5000)
    for (const [c, r] of [
      [0, 0],
      [45, 35],
      [89, 69],
    ] as const)
      expectWithin(flat.at(c, r), 0.8, { abs: 1e-4, unit: 'T', because: 'rounding of codes' })
  })

  it('refuses a kernel of no width', () => {
    for (const sigma of [0, -1, Number.NaN])
      expect(() => surroundLight(overview, scan.umPerPixel, sigma)).toThrow('sigmaUm must be above 0')
  })
})

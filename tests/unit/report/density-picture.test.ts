import sharp from 'sharp'
import { describe, expect, it } from 'vitest'
import type { DensityScan } from '../../../src/model/light.js'
import { densityGrey, densityPicture } from '../../../src/report/density-picture.js'
import { memoryScan } from '../../support/memory-scan.js'

function scanOf(codes: Uint16Array, side: number, deepest: number | null): DensityScan {
  const notAsked = () => {
    throw new Error('a picture asks only for the table')
  }
  return {
    scan: memoryScan(codes, side, side, 600),
    light: {
      calibrated: true,
      transmittance: Float32Array.from({ length: 65_536 }, (_, code) => code / 65_535),
      density: notAsked,
      code: notAsked,
      deepest,
      lineSpread: { across: null, along: null },
    },
    umPerPixel: { across: 42.3, along: 42.3 },
  }
}

async function greysOf(scan: DensityScan, side: number): Promise<Set<number>> {
  const { pngBase64 } = await densityPicture(scan, { column: 0, row: 0, width: side, height: side }, 'a', '')
  return new Set(await sharp(Buffer.from(pngBase64, 'base64')).toColourspace('b-w').raw().toBuffer())
}

describe('densityGrey', () => {
  it('shows 2.8 and 4.0 as different as 0 and 1.2: even in density', () => {
    expect(densityGrey(0)).toBe(255)
    expect(densityGrey(4.2)).toBe(0)
    expect(densityGrey(9)).toBe(0)
    expect(densityGrey(2.8) - densityGrey(4)).toBe(densityGrey(0) - densityGrey(1.2))
  })
})

describe('densityPicture', () => {
  it('averages light before its density is taken', async () => {
    // Every other column lets all light through: half the light, D 0.30, and not the mean of the densities.
    const codes = Uint16Array.from({ length: 192 * 192 }, (_, i) => (i % 2 === 0 ? 65_535 : 7))
    expect(await greysOf(scanOf(codes, 192, null), 192)).toEqual(
      new Set([densityGrey(-Math.log10((1 + 7 / 65_535) / 2))]),
    )
  })

  it('shows nothing deeper than the scanner tells, and no light as that', async () => {
    const dark = Uint16Array.from({ length: 50 * 50 }, (_, i) => (i % 3 === 0 ? 0 : 3))
    expect(await greysOf(scanOf(dark, 50, 3.5), 50)).toEqual(new Set([densityGrey(3.5)]))
  })

  it('brings a small window to size by whole pixels', async () => {
    const picture = await densityPicture(
      scanOf(new Uint16Array(900).fill(65_535), 30, 3),
      { column: 0, row: 0, width: 30, height: 30 },
      'step-1',
      'x',
    )
    expect(picture).toMatchObject({ id: 'step-1', width: 90, height: 90 })
  })
})

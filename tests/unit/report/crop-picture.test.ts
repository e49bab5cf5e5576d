import sharp from 'sharp'
import { describe, expect, it } from 'vitest'
import type { DensityScan } from '../../../src/model/light.js'
import { cropPicture } from '../../../src/report/crop-picture.js'
import { toneCurve } from '../../../src/report/tone-curve.js'
import { memoryScan } from '../../support/memory-scan.js'

/** Light proportional to code; the other powers of a light scale are not asked of a picture. */
function scanOf(codes: Uint16Array, width: number, height: number): DensityScan {
  const notAsked = () => {
    throw new Error('a picture asks only for the table')
  }
  return {
    scan: memoryScan(codes, width, height, 600),
    light: {
      calibrated: true,
      transmittance: Float32Array.from({ length: 65_536 }, (_, code) => code / 65_535),
      density: notAsked,
      code: notAsked,
      deepest: 3,
      lineSpread: { across: null, along: null },
    },
    umPerPixel: { across: 42.3, along: 42.3 },
  }
}

async function pixelsOf(pngBase64: string) {
  return sharp(Buffer.from(pngBase64, 'base64')).toColourspace('b-w').raw().toBuffer({ resolveWithObject: true })
}

describe('cropPicture', () => {
  const codes = Uint16Array.from({ length: 40 * 30 }, (_, i) => ((i % 40) * 1638) % 65_536)

  it('enlarges a small window by whole pixels, unsmoothed', async () => {
    const picture = await cropPicture(
      scanOf(codes, 40, 30),
      { column: 5, row: 6, width: 20, height: 10 },
      'edge-2',
      'x',
    )
    const { data, info } = await pixelsOf(picture.pngBase64)
    expect([info.width, info.height]).toEqual([360, 180])
    expect([picture.width, picture.height, picture.id, picture.caption]).toEqual([360, 180, 'edge-2', 'x'])
    for (let column = 0; column < 20; column++) {
      const wanted = toneCurve(((column + 5) * 1638) / 65_535)
      expect(data[column * 18]).toBe(wanted)
      expect(data[column * 18 + 17]).toBe(wanted)
    }
  })

  it('averages a large window as light', async () => {
    const stripes = Uint16Array.from({ length: 800 * 6 }, (_, i) => (i % 2 === 0 ? 65_535 : 66))
    const picture = await cropPicture(scanOf(stripes, 800, 6), { column: 0, row: 0, width: 798, height: 6 }, 'a', 'b')
    const { data } = await pixelsOf(picture.pngBase64)
    expect(picture.width).toBe(266)
    const dark = 66 / 65_535
    expect(new Set(data)).toEqual(new Set([toneCurve((2 + dark) / 3), toneCurve((1 + 2 * dark) / 3)]))
  })

  it('cuts the window to the page and says which window it shows', async () => {
    const picture = await cropPicture(scanOf(codes, 40, 30), { column: -4, row: 25, width: 10, height: 10 }, 'a', 'b')
    expect(picture.rect).toEqual({ column: 0, row: 25, width: 6, height: 5 })
  })

  it('refuses a window off the page', () => {
    const crop = (column: number) =>
      cropPicture(scanOf(codes, 40, 30), { column, row: 0, width: 10, height: 5 }, 'a', 'b')
    expect(() => crop(40)).toThrow(/40 x 30 page.*column 40/)
    expect(crop(39)).toMatchObject({ rect: { column: 39, width: 1 } })
    expect(() => crop(Number.NaN)).toThrow(RangeError)
  })
})

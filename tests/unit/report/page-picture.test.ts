import sharp from 'sharp'
import { expect, it } from 'vitest'
import { pagePicture } from '../../../src/report/page-picture.js'
import { toneCurve } from '../../../src/report/tone-curve.js'

async function pixelsOf(pngBase64: string) {
  const { data, info } = await sharp(Buffer.from(pngBase64, 'base64'))
    .toColourspace('b-w')
    .raw()
    .toBuffer({ resolveWithObject: true })
  return { data, info }
}

const SCAN = { blockPx: 8, scanWidth: 24, scanHeight: 16 }

it('is one 8-bit grey pixel a block, in scan orientation, and names the window it shows', async () => {
  const transmittance = Float32Array.from([1, 0.5, 0.1, 0.01, 0.001, 0])
  const picture = await pagePicture({ columns: 3, rows: 2, transmittance, ...SCAN })
  const { data, info } = await pixelsOf(picture.pngBase64)
  expect([info.width, info.height]).toEqual([3, 2])
  expect(await sharp(Buffer.from(picture.pngBase64, 'base64')).metadata()).toMatchObject({
    channels: 1,
    depth: 'uchar',
  })
  expect([...data]).toEqual([...transmittance].map(toneCurve))
  expect(picture.rect).toEqual({ column: 0, row: 0, width: 24, height: 16 })
})

it('keeps to 1000 px and averages light, not grey', async () => {
  const columns = 1500
  const transmittance = Float32Array.from({ length: columns * 2 }, (_, i) => (i % 2 === 0 ? 1 : 0.001))
  const picture = await pagePicture({ columns, rows: 2, transmittance, ...SCAN })
  const { data } = await pixelsOf(picture.pngBase64)
  expect([picture.width, picture.height]).toEqual([750, 1])
  expect(new Set(data)).toEqual(new Set([toneCurve(0.5005)]))
})

it('refuses an overview of another size than it says', () => {
  const make = (length: number) =>
    pagePicture({ columns: 3, rows: 2, transmittance: new Float32Array(length), ...SCAN })
  expect(() => make(5)).toThrow(/3 x 2.*5/)
  expect(make(6)).toMatchObject({ width: 3 })
  expect(() => pagePicture({ columns: 0, rows: 2, transmittance: new Float32Array(0), ...SCAN })).toThrow(/0 x 2/)
})

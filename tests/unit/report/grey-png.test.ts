import sharp from 'sharp'
import { describe, expect, it } from 'vitest'
import { greyPng } from '../../../src/report/grey-png.js'

describe('greyPng', () => {
  const grey = Uint8Array.from({ length: 15 }, (_, i) => (i * 37) % 256)

  it('comes out of a library that reads PNG (sharp) as it went in', async () => {
    const { data, info } = await sharp(greyPng(grey, 5, 3))
      .toColourspace('b-w')
      .raw()
      .toBuffer({ resolveWithObject: true })
    expect(info).toMatchObject({ width: 5, height: 3, channels: 1 })
    expect([...data]).toEqual([...grey])
  })

  it('is enlarged by whole pixels', async () => {
    const { data, info } = await sharp(greyPng(grey, 5, 3, 4))
      .toColourspace('b-w')
      .raw()
      .toBuffer({ resolveWithObject: true })
    expect(info).toMatchObject({ width: 20, height: 12, channels: 1 })
    expect([...data]).toEqual(
      Array.from({ length: 240 }, (_, i) => grey[5 * Math.floor(i / 80) + Math.floor((i % 20) / 4)]),
    )
  })

  it('refuses bytes that are too few', () => {
    expect(() => greyPng(grey, 5, 4)).toThrow(RangeError)
  })
})

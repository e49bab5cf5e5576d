import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import sharp from 'sharp'
import { afterAll, describe, expect, it } from 'vitest'
import { openArtwork } from '../../../src/decode/open-artwork.js'
import type { ArtworkBitmap } from '../../../src/model/artwork.js'
import { ProblemError } from '../../../src/model/problem.js'
import { scanFolder } from '../../support/scan-folder.js'

const folder = scanFolder()
const WIDTH = 37
const HEIGHT = 20
/** An L of ink, so that every turn and mirror shows. */
const inked = (c: number, r: number) => (c >= 3 && c < 9 && r >= 2 && r < 17) || (c >= 3 && c < 30 && r >= 12 && r < 17)
const grey = Buffer.alloc(WIDTH * HEIGHT)
for (let r = 0; r < HEIGHT; r++) for (let c = 0; c < WIDTH; c++) grey[r * WIDTH + c] = inked(c, r) ? 0 : 255

const raw = () => sharp(grey, { raw: { width: WIDTH, height: HEIGHT, channels: 1 } })
const open = (path: string) => openArtwork(path, { tempDir: join(folder.path, 'tmp') })
const inkAt = (art: ArtworkBitmap, c: number, r: number) =>
  ((art.bits[r * art.rowBytes + (c >> 3)]! >> (7 - (c & 7))) & 1) === 1
const problemOf = async (path: string): Promise<string> =>
  open(path).then(
    () => 'opened',
    error => {
      if (error instanceof ProblemError) return error.problem.code
      throw error
    },
  )

function expectL(art: ArtworkBitmap): void {
  expect([art.width, art.height]).toEqual([WIDTH, HEIGHT])
  for (let r = 0; r < HEIGHT; r++)
    for (let c = 0; c < WIDTH; c++) if (inkAt(art, c, r) !== inked(c, r)) expect([c, r, inkAt(art, c, r)]).toBe('right')
  const share = grey.filter(v => v === 0).length / grey.length
  expect(art.inkShare).toBeCloseTo(share, 12)
}

afterAll(() => folder.remove())

describe('openArtwork', () => {
  it.each([
    ['none', false],
    ['none', true],
    ['lzw', false],
    ['deflate', true],
    ['packbits', false],
    ['ccittfax4', false],
    ['ccittfax4', true],
  ] as const)('reads 1-bit TIFF, %s, min-is-white %s, at unequal resolution', async (compression, miniswhite) => {
    const path = join(folder.path, `one-${compression}-${miniswhite}.tif`)
    await raw()
      .toColourspace('b-w')
      .tiff({ bitdepth: 1, compression, predictor: 'none', miniswhite, xres: 1440 / 25.4, yres: 720 / 25.4 })
      .toFile(path)
    const art = await open(path)
    expectL(art)
    expect(art.dpi.across).toBeCloseTo(1440, 1)
    expect(art.dpi.along).toBeCloseTo(720, 1)
  })

  it('reads 8-bit grey TIFF and PNG, a palette PNG, and RGB, that are really black and white', async () => {
    const dense = () => raw().withMetadata({ density: 600 })
    await dense().toColourspace('b-w').tiff({ compression: 'none' }).toFile(join(folder.path, 'grey.tif'))
    await dense().toColourspace('b-w').png().toFile(join(folder.path, 'grey.png'))
    await dense().png({ palette: true, colours: 2 }).toFile(join(folder.path, 'palette.png'))
    await dense().toColourspace('srgb').png().toFile(join(folder.path, 'rgb.png'))
    for (const name of ['grey.tif', 'grey.png', 'palette.png', 'rgb.png']) {
      const art = await open(join(folder.path, name))
      expectL(art)
      expect(art.dpi.across).toBeCloseTo(600, 0)
    }
  })

  it('takes transparent for white', async () => {
    const rgba = Buffer.alloc(WIDTH * HEIGHT * 4)
    for (let i = 0; i < WIDTH * HEIGHT; i++) rgba[4 * i + 3] = 255 - grey[i]!
    await sharp(rgba, { raw: { width: WIDTH, height: HEIGHT, channels: 4 } })
      .withMetadata({ density: 720 })
      .png()
      .toFile(join(folder.path, 'alpha.png'))
    expectL(await open(join(folder.path, 'alpha.png')))
  })

  it('refuses what has greys, and holds a few for noise of the program that wrote it', async () => {
    const picture = (greys: number) => {
      const pixels = Buffer.alloc(200 * 200, 255)
      pixels.fill(128, 0, greys)
      return sharp(pixels, { raw: { width: 200, height: 200, channels: 1 } })
        .withMetadata({ density: 720 })
        .toColourspace('b-w')
        .png()
    }
    await picture(4).toFile(join(folder.path, 'nearly.png'))
    await picture(5).toFile(join(folder.path, 'greys.png'))
    expect(await problemOf(join(folder.path, 'nearly.png'))).toBe('opened')
    expect(await problemOf(join(folder.path, 'greys.png'))).toBe('ARTWORK_NOT_BLACK_AND_WHITE')
  })

  it('refuses what does not say its size, or says a screen’s', async () => {
    await raw().png().toFile(join(folder.path, 'no-dpi.png'))
    await raw().withMetadata({ density: 30 }).png().toFile(join(folder.path, 'screen.png'))
    expect(await problemOf(join(folder.path, 'no-dpi.png'))).toBe('ARTWORK_NO_RESOLUTION')
    expect(await problemOf(join(folder.path, 'screen.png'))).toBe('ARTWORK_NO_RESOLUTION')
  })

  it('tells files that are no artwork, cut short or not there', async () => {
    writeFileSync(join(folder.path, 'text.tif'), 'this is no picture at all')
    await raw()
      .toColourspace('b-w')
      .tiff({ bitdepth: 1, compression: 'none', xres: 28, yres: 28 })
      .toFile(join(folder.path, 'whole.tif'))
    const { readFileSync } = await import('node:fs')
    writeFileSync(join(folder.path, 'cut.tif'), readFileSync(join(folder.path, 'whole.tif')).subarray(0, 60))
    await raw().withMetadata({ density: 720 }).png().toFile(join(folder.path, 'whole.png'))
    writeFileSync(join(folder.path, 'cut.png'), readFileSync(join(folder.path, 'whole.png')).subarray(0, 110))
    await raw().jpeg().toFile(join(folder.path, 'photo.jpg'))
    expect(await problemOf(join(folder.path, 'text.tif'))).toBe('ARTWORK_NOT_A_PICTURE')
    expect(await problemOf(join(folder.path, 'photo.jpg'))).toBe('ARTWORK_NOT_A_PICTURE')
    expect(await problemOf(join(folder.path, 'cut.tif'))).toBe('ARTWORK_DAMAGED')
    expect(await problemOf(join(folder.path, 'cut.png'))).toBe('ARTWORK_DAMAGED')
    expect(await problemOf(join(folder.path, 'not-there.tif'))).toBe('FILE_MISSING')
  })
})

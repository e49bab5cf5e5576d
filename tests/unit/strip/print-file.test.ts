import { execFileSync } from 'node:child_process'
import { existsSync } from 'node:fs'
import { writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import sharp from 'sharp'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { openArtwork } from '../../../src/decode/open-artwork.js'
import type { StripIdentity } from '../../../src/model/strip.js'
import { drawStrip, type StripDrawing, USUAL_SCREEN } from '../../../src/strip/draw-strip.js'
import { type PrintFile, printFile, printFileKind } from '../../../src/strip/print-file.js'
import { encodeStripCode } from '../../../src/strip/strip-code.js'
import { readCodes } from '../../support/read-codes.js'
import { scanFolder } from '../../support/scan-folder.js'

/** A general reader of PDF, of the package poppler-utils. */
const PDFTOPPM = process.env.PDFTOPPM ?? '/usr/bin/pdftoppm'
const havePdftoppm = existsSync(PDFTOPPM)
if (process.env.CI !== undefined && !havePdftoppm)
  throw new Error(`CI must have pdftoppm at ${PDFTOPPM}; these tests may not be skipped there`)

const IDENTITY: StripIdentity = {
  positive: 'reef <label>'.replace(/[<>]/g, ''),
  jobType: 'halftone',
  dpi: { across: 1440, along: 720 },
  form: 'short',
  laid: 'head',
  tints: 'screened',
}
const WIDTH_MM = 70
const HEIGHT_MM = 15

describe('files to print from', () => {
  const folder = scanFolder()
  afterAll(folder.remove)
  const drawings = new Map<StripIdentity['tints'], StripDrawing>()
  const written = async (kind: PrintFile, tints: StripIdentity['tints'] = 'screened'): Promise<string> => {
    const drawing = drawings.get(tints)!
    const path = join(folder.path, `${tints}.${kind}`)
    await writeFile(path, await printFile({ ...drawing, title: 'a <strip>' }, kind))
    return path
  }
  beforeAll(() => {
    for (const tints of ['screened', 'grey'] as const)
      drawings.set(tints, drawStrip({ ...IDENTITY, tints }, USUAL_SCREEN))
  })

  it.each(['png', 'tif'] as const)('%s holds every pixel, and its two resolutions', async kind => {
    const { bitmap } = drawings.get('screened')!
    const path = await written(kind)
    const opened = await openArtwork(path, { tempDir: folder.path })
    expect([opened.width, opened.height]).toEqual([bitmap.width, bitmap.height])
    expect(opened.dpi.across).toBeCloseTo(1440, 0)
    expect(opened.dpi.along).toBeCloseTo(720, 0)
    expect(Buffer.from(opened.bits).equals(Buffer.from(bitmap.bits))).toBe(true)
  })

  it('a general reader finds 1 bit a pixel, black ink on white, and the size in the file', async () => {
    for (const kind of ['png', 'tif'] as const) {
      const path = await written(kind)
      const said = await sharp(path).metadata()
      expect(said.bitsPerSample, kind).toBe(1)
      const density = said.density!
      expect((said.width! / density) * 25.4).toBeCloseTo(WIDTH_MM, 1)
      const { data } = await sharp(path).toColourspace('b-w').raw().toBuffer({ resolveWithObject: true })
      expect(data[0], `${kind}: the corner is clear film`).toBe(255)
      const dark = data.reduce((n, value) => n + (value < 128 ? 1 : 0), 0)
      expect(dark / data.length).toBeCloseTo(drawings.get('screened')!.bitmap.inkShare, 9)
    }
  })

  it.each(['png', 'tif'] as const)('%s has plain grey where the shop is to screen', async kind => {
    const { greys } = drawings.get('grey')!
    const { data, info } = await sharp(await written(kind, 'grey'))
      .toColourspace('b-w')
      .raw()
      .toBuffer({ resolveWithObject: true })
    expect(info.channels).toBe(1)
    for (const area of greys)
      expect(data[(area.row + 5) * info.width + area.column + 5]).toBe(Math.round(255 * (1 - area.percent / 100)))
  })

  it('an SVG is as large in a general reader as it says, and its codes are read', async () => {
    const path = await written('svg')
    // At 72 pixels an inch the reader gives the size the file states; a drawing twice as fine is read.
    const said = await sharp(path, { density: 72 }).metadata()
    expect((said.width! / 72) * 25.4).toBeCloseTo(WIDTH_MM, 0)
    expect((said.height! / 72) * 25.4).toBeCloseTo(HEIGHT_MM, 0)
    const { data, info } = await sharp(path, { density: 144 })
      .flatten({ background: '#ffffff' })
      .toColourspace('b-w')
      .raw()
      .toBuffer({ resolveWithObject: true })
    const codes = await readCodes({ width: info.width, height: info.height, values: data })
    expect(codes.map(code => code.text)).toEqual(Array(2).fill(encodeStripCode(IDENTITY)))
  })

  it('a title never becomes markup', async () => {
    expect((await printFile({ ...drawings.get('grey')!, title: '<script>"' }, 'svg')).toString()).not.toContain(
      '<script',
    )
  })

  it('the same drawing makes the same bytes', async () => {
    for (const kind of ['png', 'pdf', 'svg'] as const) {
      const print = { ...drawings.get('grey')!, title: 'strip' }
      expect((await printFile(print, kind)).equals(await printFile(print, kind)), kind).toBe(true)
    }
  })

  it('knows the kind by the name', () => {
    expect(['a.png', 'b.TIF', 'c.tiff', 'd.pdf', 'e.f.svg'].map(printFileKind)).toEqual([
      'png',
      'tif',
      'tif',
      'pdf',
      'svg',
    ])
    for (const name of ['a.jpg', 'a', 'pdf', 'a.b/png'])
      expect(() => printFileKind(name), name).toThrow('STRIP_FILE_KIND')
  })

  describe.skipIf(!havePdftoppm)(`in pdftoppm (skipped when there is none at ${PDFTOPPM})`, () => {
    it('a PDF opens at true size, and is painted pixel for pixel as sent', async () => {
      const { bitmap } = drawings.get('screened')!
      const out = join(folder.path, 'rendered')
      execFileSync(PDFTOPPM, [
        '-rx',
        '1440',
        '-ry',
        '720',
        '-mono',
        '-aa',
        'no',
        '-aaVector',
        'no',
        '-png',
        await written('pdf'),
        out,
      ])
      const { data, info } = await sharp(`${out}-1.png`)
        .toColourspace('b-w')
        .raw()
        .toBuffer({ resolveWithObject: true })
      expect([info.width, info.height]).toEqual([bitmap.width, bitmap.height])
      let other = 0
      for (let r = 0; r < info.height; r++)
        for (let c = 0; c < info.width; c++) {
          const ink = (bitmap.bits[r * bitmap.rowBytes + (c >> 3)]! & (0x80 >> (c & 7))) !== 0
          if (ink !== data[r * info.width + c]! < 128) other++
        }
      expect(other).toBe(0)
    })
  })
})

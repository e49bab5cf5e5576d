import { readdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import fc from 'fast-check'
import sharp from 'sharp'
import { decode as decodeWithTiffPackage } from 'tiff'
import { afterAll, describe, expect, it } from 'vitest'
import { openScan, unpackShare } from '../../../src/decode/open-scan.js'
import type { UnpackShare } from '../../../src/decode/unpack-codes.js'
import { removeUnpacked } from '../../../src/decode/unpacked-picture.js'
import type { Channel, OpenScan } from '../../../src/model/scan.js'
import { writePng } from '../../support/png-writer.js'
import { scanFolder } from '../../support/scan-folder.js'
import { ascii, long, rational, short, type TiffToWrite, writeTiff } from '../../support/tiff-writer.js'

const folder = scanFolder()
afterAll(() => folder.remove())
const tempDir = join(folder.path, 'unpack')
const open = (file: string, channel: Channel = 'blue'): Promise<OpenScan> => openScan(file, { channel, tempDir })
const leftovers = (): string[] => {
  try {
    return readdirSync(tempDir)
  } catch {
    return []
  }
}

/** Codes with every bit used, smooth in places so that compressors find runs; no row is zero. */
function pattern(width: number, height: number, samples: number, top = 65535): Uint16Array {
  const data = new Uint16Array(width * height * samples)
  for (let r = 0, i = 0; r < height; r++)
    for (let c = 0; c < width; c++)
      for (let s = 0; s < samples; s++, i++) {
        const flat = (c >> 3) % 2 === 0
        data[i] = (flat ? 17 + s * 100 + r : (r * 7919 + c * 104729 + s * 31337) % 65521) & top
      }
  return data
}

function channelOf(data: Uint16Array, samples: number, sample: number, turn: (code: number) => number): Uint16Array {
  const out = new Uint16Array(data.length / samples)
  for (let i = 0; i < out.length; i++) out[i] = turn(data[i * samples + sample]!)
  return out
}

function wholePage(scan: OpenScan): Uint16Array {
  const { width, height } = scan.header
  const out = new Uint16Array(width * height)
  let row = 0
  scan.forEachBand(band => {
    expect([band.column, band.row, band.width, band.codes.length]).toEqual([0, row, width, width * band.height])
    out.set(band.codes, row * width)
    row += band.height
  })
  expect(row).toBe(height)
  return out
}

const WIDTH = 61
const HEIGHT = 47
const variants: Record<string, Partial<TiffToWrite>> = {
  'one strip': {},
  'many strips': { rowsPerStrip: 5 },
  'strips with gaps between': { rowsPerStrip: 4, gap: 6 },
  'rows per strip 2^32 - 1': { tags: { 278: long(0xffffffff) } },
  'rows per strip 0': { tags: { 278: long(0) } },
  'directory first': { directoryFirst: true, rowsPerStrip: 9 },
  'big-endian': { littleEndian: false, rowsPerStrip: 8 },
  BigTIFF: { big: true, rowsPerStrip: 8 },
  'big-endian BigTIFF': { big: true, littleEndian: false },
  'tiles of 16': { tile: [16, 16] },
  'tiles that stand out beyond the page': { tile: [64, 48], compression: 'lzw' },
  'tiles, Deflate, predictor': { tile: [32, 16], compression: 'deflate', predictor: 2 },
  'tiles, big-endian, LZW, predictor': { tile: [32, 16], compression: 'lzw', predictor: 2, littleEndian: false },
  Deflate: { compression: 'deflate', rowsPerStrip: 7 },
  'Deflate under its old number': { compression: 'oldDeflate', rowsPerStrip: 7 },
  'Deflate, predictor, big-endian': { compression: 'deflate', predictor: 2, littleEndian: false, rowsPerStrip: 10 },
  LZW: { compression: 'lzw', rowsPerStrip: 7 },
  'LZW, one strip, predictor': { compression: 'lzw', predictor: 2 },
  PackBits: { compression: 'packbits', rowsPerStrip: 3 },
  'bits of each byte reversed': { bitsReversed: true },
  'bits reversed, LZW': { bitsReversed: true, compression: 'lzw' },
  'predictor tag without a compression that knows it': { tags: { 317: short(2) } },
  'no strip lengths': { tags: { 279: null } },
}
const kinds: Record<string, { samples: number; picture: Partial<TiffToWrite>; turned?: boolean }> = {
  grey: { samples: 1, picture: {} },
  'min-is-white': { samples: 1, picture: { photometric: 0 }, turned: true },
  'grey and alpha': { samples: 2, picture: { photometric: 1, extraSamples: [2] } },
  RGB: { samples: 3, picture: {} },
  'RGB and infrared': { samples: 4, picture: { extraSamples: [0] } },
  'RGB in planes': { samples: 3, picture: { planar: true } },
  'RGB and alpha in planes': { samples: 4, picture: { planar: true, extraSamples: [1] } },
}

describe('openScan gives the codes that were written', () => {
  for (const [kindName, kind] of Object.entries(kinds))
    for (const bits of [8, 16] as const)
      it(`${kindName}, ${bits} bits, in every layout`, async () => {
        const { samples } = kind
        const data = pattern(WIDTH, HEIGHT, samples, bits === 8 ? 255 : 65535)
        for (const [name, variant] of Object.entries(variants)) {
          const picture = { width: WIDTH, height: HEIGHT, data, samples, bits, ...kind.picture, ...variant }
          const file = folder.put('variant.tif', writeTiff(picture))
          for (const [sample, channel] of (['red', 'green', 'blue'] as const).entries()) {
            if (samples < 3 && sample > 0) continue
            const scan = await open(file, channel)
            const scale = bits === 8 ? 257 : 1
            const wanted = channelOf(data, samples, sample, code =>
              kind.turned === true ? 65535 - code * scale : code * scale,
            )
            expect(Buffer.compare(Buffer.from(wholePage(scan).buffer), Buffer.from(wanted.buffer)), name).toBe(0)
            const { codes } = scan.readWindow({ column: 0, row: 0, width: WIDTH, height: HEIGHT })
            expect(Buffer.compare(Buffer.from(codes.buffer), Buffer.from(wanted.buffer)), name).toBe(0)
            expect(scan.header).toMatchObject({
              width: WIDTH,
              height: HEIGHT,
              bits,
              channels: samples < 3 ? 1 : 3,
              channel: samples < 3 ? 'grey' : channel,
            })
            scan.close()
          }
        }
      })

  it('agrees with two independent decoders on the files this suite writes', async () => {
    const data = pattern(WIDTH, HEIGHT, 1)
    for (const picture of [
      { compression: 'lzw', rowsPerStrip: 7 },
      { compression: 'deflate', predictor: 2 },
      { littleEndian: false },
    ] as Partial<TiffToWrite>[]) {
      const bytes = writeTiff({ width: WIDTH, height: HEIGHT, data, ...picture })
      expect(Buffer.from(decodeWithTiffPackage(bytes)[0]!.data.buffer)).toEqual(Buffer.from(data.buffer))
      const raw = await sharp(bytes).pipelineColourspace('grey16').toColourspace('grey16').raw({ depth: 'ushort' })
      expect(await raw.toBuffer()).toEqual(Buffer.from(data.buffer))
    }
  })

  it('reads what sharp writes: LZW and Deflate strips and tiles from another encoder', async () => {
    const [width, height] = [400, 300]
    const data = pattern(width, height, 1)
    const raw = writeTiff({ width, height, data })
    for (const compression of ['lzw', 'deflate', 'packbits', 'none'] as const)
      for (const predictor of ['none', 'horizontal'] as const)
        for (const tile of [false, true]) {
          const made = sharp(raw).pipelineColourspace('grey16').toColourspace('grey16')
          const file = folder.put('by-sharp.tif', await made.tiff({ compression, predictor, tile }).toBuffer())
          const scan = await open(file)
          expect(Buffer.from(wholePage(scan).buffer).equals(Buffer.from(data.buffer)), `${compression} ${tile}`).toBe(
            true,
          )
          scan.close()
        }
  })

  it('any window is the slice of the whole, on plain strips, compressed strips, tiles and colour', async () => {
    const [width, height] = [301, 83]
    const opened: { scan: OpenScan; whole: Uint16Array }[] = []
    for (const [samples, picture] of [
      [1, { rowsPerStrip: 6 }],
      [1, { compression: 'lzw', predictor: 2, rowsPerStrip: 6 }],
      [1, { tile: [16, 32], compression: 'deflate' }],
      [3, { rowsPerStrip: 6 }],
      [3, { planar: true, tile: [48, 16] }],
    ] as [number, Partial<TiffToWrite>][]) {
      const data = pattern(width, height, samples)
      const file = folder.put(`window-${opened.length}.tif`, writeTiff({ width, height, data, samples, ...picture }))
      const scan = await open(file, 'green')
      opened.push({ scan, whole: channelOf(data, samples, samples === 3 ? 1 : 0, code => code) })
    }
    const rects = fc
      .record({ column: fc.nat(width - 1), row: fc.nat(height - 1), w: fc.nat(), h: fc.nat(), file: fc.nat(4) })
      .map(({ column, row, w, h, file }) => ({
        file,
        rect: { column, row, width: 1 + (w % (width - column)), height: 1 + (h % (height - row)) },
      }))
    fc.assert(
      fc.property(rects, ({ file, rect }) => {
        const { scan, whole } = opened[file]!
        const window = scan.readWindow(rect)
        const wanted = new Uint16Array(rect.width * rect.height)
        for (let r = 0; r < rect.height; r++) {
          const from = (rect.row + r) * width + rect.column
          wanted.set(whole.subarray(from, from + rect.width), r * rect.width)
        }
        return (
          window.column === rect.column &&
          window.row === rect.row &&
          Buffer.from(window.codes.buffer).equals(Buffer.from(wanted.buffer))
        )
      }),
      { numRuns: 400, seed: 20 },
    )
    for (const { scan } of opened) scan.close()
  })

  it('hands out several bands when the page is larger than one, and windows in between do not disturb them', async () => {
    const [width, height] = [2000, 2500]
    const data = pattern(width, height, 1)
    for (const compression of ['none', 'deflate'] as const) {
      const scan = await open(
        folder.put('bands.tif', writeTiff({ width, height, data, compression, rowsPerStrip: 100 })),
      )
      let bands = 0
      scan.forEachBand(band => {
        bands++
        scan.readWindow({ column: 5, row: height - 50, width: 50, height: 50 })
        const wanted = data.subarray(band.row * width, (band.row + band.height) * width)
        expect(Buffer.compare(new Uint8Array(band.codes), new Uint8Array(wanted))).toBe(0)
      })
      expect(bands).toBeGreaterThan(1)
      scan.close()
    }
  })

  it('keeps windows right when more chunks are touched than are kept', async () => {
    const [width, height] = [1024, 28_000]
    const data = new Uint16Array(width * height)
    for (let r = 0; r < height; r++) data.fill((r * 37 + 1) % 65536, r * width, (r + 1) * width)
    const file = folder.put('kept.tif', writeTiff({ width, height, data, compression: 'deflate', rowsPerStrip: 4000 }))
    const scan = await open(file)
    for (const row of [0, 27_999, 100, 12_000, 8_000, 20_000, 4_000, 24_500, 16_000, 0])
      expect(scan.readWindow({ column: 1000, row, width: 3, height: 1 }).codes).toEqual(
        new Uint16Array(3).fill((row * 37 + 1) % 65536),
      )
    scan.close()
  })
})

describe('openScan reads PNG through a temporary file and leaves nothing', () => {
  const [width, height] = [90, 70]
  for (const [samples, bits] of [
    [1, 16],
    [2, 16],
    [3, 16],
    [4, 16],
    [1, 8],
    [3, 8],
    [4, 8],
  ] as const)
    it(`${samples} samples of ${bits} bits`, async () => {
      const top = bits === 8 ? 255 : 65535
      const data = pattern(width, height, samples, top)
      // An alpha of zero must not wipe out the codes beside it.
      if (samples % 2 === 0) data[samples - 1] = 0
      const perMetre = [47244, 47244] as const
      const file = folder.put(`s${samples}-${bits}.png`, writePng({ width, height, bits, samples, data, perMetre }))
      const scan = await open(file, 'red')
      expect(wholePage(scan)).toEqual(channelOf(data, samples, 0, code => code * (bits === 8 ? 257 : 1)))
      expect(scan.header).toMatchObject({ format: 'png', bits, channels: samples < 3 ? 1 : 3, width, height })
      expect(Math.abs(scan.header.dpi!.across - 1200)).toBeLessThanOrEqual(0.02) // pHYs holds whole pixels a metre
      expect(scan.header.warnings.some(w => w.includes('alpha'))).toBe(samples % 2 === 0)
      expect(leftovers()).toHaveLength(1)
      scan.close()
      scan.close()
      expect(leftovers()).toEqual([])
    })

  it('reads the new content when a file of the same name was written anew', async () => {
    const write = (level: number): string => {
      const raw = new Uint16Array(width * height).fill(level)
      return folder.put('again.png', writePng({ width, height, bits: 16, samples: 1, data: raw }))
    }
    for (const level of [1111, 2222, 3333]) {
      const scan = await open(write(level))
      expect(scan.readWindow({ column: 1, row: 1, width: 1, height: 1 }).codes[0]).toBe(level)
      scan.close()
    }
  })

  it('deletes the temporary file when the pixels turn out damaged', async () => {
    const png = writePng({ width, height, bits: 16, samples: 1, data: pattern(width, height, 1) })
    png.fill(0x55, 90, png.length - 100)
    await expect(open(folder.put('bad.png', png))).rejects.toMatchObject({
      problem: { code: /SCAN_(DAMAGED|TRUNCATED)/ },
    })
    expect(leftovers()).toEqual([])
  })

  it('stops when it is told to, and leaves nothing', async () => {
    const png = writePng({ width, height, bits: 16, samples: 1, data: pattern(width, height, 1) })
    const stop = new AbortController()
    const opening = openScan(folder.put('stop.png', png), { channel: 'blue', tempDir, signal: stop.signal })
    stop.abort(new Error('asked to stop'))
    await expect(opening).rejects.toThrow('asked to stop')
    expect(leftovers()).toEqual([])
  })

  it('says so when there is no folder to unpack into', async () => {
    const png = writePng({ width, height, bits: 16, samples: 1, data: pattern(width, height, 1) })
    const blocked = folder.put('not-a-folder', 'x')
    const opening = openScan(folder.put('ok.png', png), { channel: 'blue', tempDir: blocked })
    await expect(opening).rejects.toMatchObject({ problem: { code: 'FILE_NOT_READABLE' } })
  })
})

describe('openScan leaves one compressed strip too large for memory to sharp', () => {
  for (const photometric of [0, 1] as const)
    it(`photometric ${photometric}`, async () => {
      const [width, height] = [6000, 6000]
      const data = new Uint16Array(width * height)
      for (let r = 0; r < height; r++) data.fill(500 + r * 9, r * width, (r + 1) * width)
      const file = folder.put('giant.tif', writeTiff({ width, height, data, compression: 'deflate', photometric }))
      const scan = await open(file)
      expect(leftovers()).toHaveLength(1)
      const turn = (code: number): number => (photometric === 0 ? 65535 - code : code)
      for (const row of [0, 1, 3000, 5999])
        expect(scan.readWindow({ column: 5990, row, width: 10, height: 1 }).codes).toEqual(
          new Uint16Array(10).fill(turn(500 + row * 9)),
        )
      expect(scan.header.compression).toBe('Deflate')
      scan.close()
      expect(leftovers()).toEqual([])
    })
})

describe('openScan unpacks large compressed pages once', () => {
  const data = pattern(61, 47, 3)

  it.each(['lzw', 'deflate', 'packbits'] as const)(
    '%s: the same codes and header, nothing left behind',
    async compression => {
      const picture = {
        width: 61,
        height: 47,
        samples: 3,
        data,
        compression,
        rowsPerStrip: 5,
        tags: { 271: ascii('demo') },
      }
      const file = folder.put(`large-${compression}.tif`, writeTiff(picture))
      const direct = await open(file, 'green')
      const once = await openScan(file, { channel: 'green', tempDir, unpackAbove: 0 })
      expect(leftovers()).toHaveLength(1)
      expect(once.header).toEqual(direct.header)
      expect(wholePage(once)).toEqual(channelOf(data, 3, 1, code => code))
      expect(wholePage(direct)).toEqual(wholePage(once))
      direct.close()
      once.close()
      expect(leftovers()).toEqual([])
    },
  )

  it.each(['lzw', 'png'] as const)(
    '%s: what was unpacked serves the next that opens it, until it is deleted',
    async kind => {
      const page = { width: 61, height: 47, samples: 3 as const, data }
      const file = folder.put(
        `kept.${kind}`,
        kind === 'png' ? writePng({ ...page, bits: 16 }) : writeTiff({ ...page, compression: kind }),
      )
      const how = { channel: 'green', tempDir, unpackAbove: 0 } as const
      const first = await openScan(file, { ...how, keepUnpacked: true })
      const unpackedBefore = first.file!
      first.close()
      expect(leftovers()).toHaveLength(1)
      const next = await openScan(file, { ...how, unpackedBefore })
      expect(leftovers()).toHaveLength(1)
      expect(next.header).toEqual(first.header)
      expect(wholePage(next)).toEqual(channelOf(data, 3, 1, code => code))
      next.close()
      expect(leftovers(), 'it belongs to whoever kept it').toHaveLength(1)
      removeUnpacked(unpackedBefore)
      expect(leftovers()).toEqual([])
      const anew = await openScan(file, { ...how, unpackedBefore })
      expect(wholePage(anew)).toEqual(channelOf(data, 3, 1, code => code))
      anew.close()
      expect(leftovers()).toEqual([])
    },
  )

  it.each(['lzw', 'deflate', 'packbits'] as const)(
    '%s: another thread unpacks the lower half, and what goes wrong there is done here',
    async compression => {
      const page = { width: 61, height: 47, samples: 3 as const, data, compression, rowsPerStrip: 5 }
      const file = folder.put(`halves-${compression}.tif`, writeTiff(page))
      const shares: UnpackShare[] = []
      const how = { channel: 'green', tempDir, unpackAbove: 0 } as const
      for (const unpackBeside of [
        (share: UnpackShare) => {
          shares.push(share)
          return unpackShare(share)
        },
        () => Promise.reject(new Error('the thread ended')),
      ]) {
        const scan = await openScan(file, { ...how, unpackBeside })
        expect(wholePage(scan)).toEqual(channelOf(data, 3, 1, code => code))
        scan.close()
      }
      expect(shares).toMatchObject([{ file, channel: 'green', from: 25, to: 47 }])
      expect(leftovers()).toEqual([])
    },
  )

  it('unpacks nothing where only the header is wanted', async () => {
    const page = { width: 61, height: 47, samples: 3 as const, data }
    const file = folder.put('header.png', writePng({ ...page, bits: 16 }))
    const whole = await openScan(file, { channel: 'grey', tempDir })
    whole.close()
    const scan = await openScan(file, { channel: 'grey', tempDir, headerOnly: true })
    expect(leftovers()).toEqual([])
    expect(scan.header).toEqual(whole.header)
    scan.close()
  })

  it('reads the chunks themselves where there is no room to unpack', async () => {
    const blocked = folder.put('a-file', 'not a folder')
    const file = folder.put('large.tif', writeTiff({ width: 61, height: 47, samples: 3, data, compression: 'lzw' }))
    const scan = await openScan(file, { channel: 'red', tempDir: blocked, unpackAbove: 0 })
    expect(wholePage(scan)).toEqual(channelOf(data, 3, 0, code => code))
    scan.close()
  })
})

describe('openScan says what the file says', () => {
  const page = { width: 20, height: 20, data: pattern(20, 20, 1) }
  const colour = { width: 20, height: 20, samples: 3, data: pattern(20, 20, 3) }
  const header = async (picture: TiffToWrite, channel: Channel = 'blue') => {
    const scan = await open(folder.put('header.tif', writeTiff(picture)), channel)
    scan.close()
    return scan.header
  }

  it('maker, model, date and resolution', async () => {
    const tags = {
      271: ascii('Maker A'),
      272: ascii('flatbed-a'),
      282: rational(1200, 1),
      283: rational(2400, 1),
      306: ascii('2024:03:09 14:05:59'),
    }
    expect(await header({ ...page, tags })).toMatchObject({
      format: 'tiff',
      compression: 'none',
      maker: 'Maker A',
      model: 'flatbed-a',
      taggedAt: '2024-03-09T14:05:59',
      dpi: { across: 1200, along: 2400 },
      warnings: [],
    })
  })

  it('nothing where the file says nothing', async () => {
    expect(await header(page)).toMatchObject({ maker: null, model: null, taggedAt: null, dpi: null, warnings: [] })
  })

  it('the channel: grey of a grey scan, blue of a colour scan asked for grey, else as asked', async () => {
    expect((await header(page, 'red')).channel).toBe('grey')
    expect((await header(colour, 'red')).channel).toBe('red')
    const asked = await header(colour, 'grey')
    expect(asked.channel).toBe('blue')
    expect(asked.warnings.join()).toMatch(/blue channel was read/)
  })

  it('warns of 8 bits, a profile, an orientation and further pages', async () => {
    expect((await header({ ...page, bits: 8, data: pattern(20, 20, 1, 255) })).warnings.join()).toMatch(/8-bit/)
    const tags = { 34675: ascii('not really a profile'), 274: short(6) }
    const { warnings } = await header({ ...page, tags })
    expect(warnings.join()).toMatch(/profile in the file was ignored/)
    expect(warnings.join()).toMatch(/orientation 6/)
    expect((await header({ ...page, next: 1e9 })).warnings.join()).toMatch(/further page that is not in it/)
  })

  it('passes over a thumbnail that comes first', async () => {
    const thumbnail = writeTiff({ width: 4, height: 4, data: pattern(4, 4, 1), tags: { 254: long(1) } })
    const main = writeTiff({ ...page })
    // The second page's places are moved by where it is put.
    const shift = thumbnail.length
    const moved = writeTiff({ ...page, tags: { 273: long(shift + 8) } })
    const directoryAt = moved.readUInt32LE(4)
    const link = thumbnail.readUInt32LE(4) + 2 + thumbnail.readUInt16LE(thumbnail.readUInt32LE(4)) * 12
    thumbnail.writeUInt32LE(shift + directoryAt, link)
    expect(main.length).toBe(moved.length)
    const bytes = Buffer.concat([thumbnail, moved])
    // Values outside the directory: none on a grey page, so nothing else has to move.
    const scan = await open(folder.put('thumb.tif', bytes))
    expect(scan.header.width).toBe(20)
    expect(wholePage(scan)).toEqual(page.data)
    scan.close()
  })

  it('refuses a window that leaves the page, and takes one that just fits', async () => {
    const scan = await open(folder.put('edge.tif', writeTiff(page)))
    expect(scan.readWindow({ column: 19, row: 19, width: 1, height: 1 }).codes).toHaveLength(1)
    for (const rect of [
      { column: 19, row: 0, width: 2, height: 1 },
      { column: 0, row: 19, width: 1, height: 2 },
      { column: -1, row: 0, width: 1, height: 1 },
      { column: 0, row: 0, width: 0, height: 1 },
      { column: 0.5, row: 0, width: 1, height: 1 },
      { column: Number.NaN, row: 0, width: 1, height: 1 },
    ])
      expect(() => scan.readWindow(rect)).toThrow(RangeError)
    scan.close()
    scan.close()
    expect(() => scan.readWindow({ column: 0, row: 0, width: 1, height: 1 })).toThrow(/closed/)
  })

  it('finds a file that was cut while it was open', async () => {
    const bytes = writeTiff({ ...page, directoryFirst: true })
    const file = folder.put('shrinks.tif', bytes)
    const scan = await open(file)
    writeFileSync(file, bytes.subarray(0, bytes.length - 100))
    expect(() => scan.forEachBand(() => {})).toThrow(
      expect.objectContaining({ problem: expect.objectContaining({ code: 'SCAN_TRUNCATED' }) }),
    )
    scan.close()
  })
})

describe('openScan knows a scan that is still being written', () => {
  const [width, height] = [50, 40]
  const withZeroRows = (rows: number, samples = 1): Uint16Array => {
    const data = new Uint16Array(width * height * samples).fill(40_000)
    data.fill(0, (height - rows) * width * samples)
    return data
  }
  const opening = (picture: TiffToWrite): Promise<OpenScan> => open(folder.put('zeros.tif', writeTiff(picture)), 'red')

  it('eight zero rows at the end are unfinished, seven are not', async () => {
    await expect(opening({ width, height, data: withZeroRows(8) })).rejects.toMatchObject({
      problem: { code: 'SCAN_UNFINISHED', what: expect.stringContaining('8 of 40 rows') },
    })
    ;(await opening({ width, height, data: withZeroRows(7) })).close()
  })

  it('counts what is stored: white stored as zero is unfinished too, black stored as 65535 is not', async () => {
    await expect(opening({ width, height, data: withZeroRows(9), photometric: 0 })).rejects.toMatchObject({
      problem: { code: 'SCAN_UNFINISHED' },
    })
    const black = new Uint16Array(width * height).fill(65535)
    ;(await opening({ width, height, data: black, photometric: 0 })).close()
  })

  it('one pixel that is not zero means a black holder, not an unfinished scan', async () => {
    const data = withZeroRows(20)
    data[data.length - 1] = 1
    ;(await opening({ width, height, data })).close()
    const colour = withZeroRows(20, 3)
    // Red and green may well be 0 in a holder; blue is not.
    for (let i = 2; i < colour.length; i += 3) colour[i] = 5
    ;(await opening({ width, height, samples: 3, data: colour })).close()
    await expect(opening({ width, height, samples: 3, data: withZeroRows(20, 3) })).rejects.toMatchObject({
      problem: { code: 'SCAN_UNFINISHED' },
    })
  })

  it('compressed and tiled pages are looked at as well; 8-bit ones are not, where black is often 0', async () => {
    for (const variant of [{ compression: 'lzw', rowsPerStrip: 6 }, { tile: [16, 16] }] as Partial<TiffToWrite>[])
      await expect(opening({ width, height, data: withZeroRows(12), ...variant })).rejects.toMatchObject({
        problem: { code: 'SCAN_UNFINISHED', what: expect.stringContaining('12 of 40') },
      })
    const eight = withZeroRows(12).map(code => code & 0xff)
    ;(await opening({ width, height, bits: 8, data: eight })).close()
  })
})

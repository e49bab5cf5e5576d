import { mkdirSync, statSync, truncateSync } from 'node:fs'
import { join } from 'node:path'
import { deflateSync } from 'node:zlib'
import sharp from 'sharp'
import { afterAll, describe, expect, it } from 'vitest'
import { openScan } from '../../../src/decode/open-scan.js'
import { ProblemError } from '../../../src/model/problem.js'
import { writePng } from '../../support/png-writer.js'
import { scanFolder } from '../../support/scan-folder.js'
import { ascii, encodeLzw, long, short, type TiffToWrite, writeTiff } from '../../support/tiff-writer.js'

const folder = scanFolder()
afterAll(() => folder.remove())

/** Opens and reads all; the code of the problem met, or `opened`. Anything else that is thrown fails the test. */
async function codeOf(file: string): Promise<string> {
  try {
    const scan = await openScan(file, { channel: 'blue', tempDir: join(folder.path, 'unpack') })
    try {
      scan.forEachBand(() => {})
      const { width, height } = scan.header
      scan.readWindow({ column: width - 1, row: height - 1, width: 1, height: 1 })
    } finally {
      scan.close()
    }
    return 'opened'
  } catch (error) {
    if (error instanceof ProblemError) return error.problem.code
    throw error
  }
}

const data = new Uint16Array(64 * 48).map((_, i) => 1000 + ((i * 2654435761) % 60_000))
const page = { width: 64, height: 48, data, rowsPerStrip: 16 }
const ofTiff = (change: Partial<TiffToWrite>): Promise<string> =>
  codeOf(folder.put('x.tif', writeTiff({ ...page, ...change })))
const withTags = (tags: NonNullable<TiffToWrite['tags']>, change: Partial<TiffToWrite> = {}): Promise<string> =>
  ofTiff({ ...change, tags })

describe('openScan refuses, each with its code', () => {
  it('the page it is tried on opens', async () => {
    expect(await ofTiff({})).toBe('opened')
  })

  it('files that are none, empty, or something else', async () => {
    expect(await codeOf(join(folder.path, 'nowhere.tif'))).toBe('FILE_MISSING')
    expect(await codeOf(folder.put('empty.tif', ''))).toBe('FILE_EMPTY')
    expect(await codeOf(folder.put('text.tif', 'Dear printer, here is the scan.'))).toBe('NOT_A_SCAN')
    expect(await codeOf(folder.put('pdf.tif', '%PDF-1.7 and so on'))).toBe('NOT_A_SCAN')
    const jpeg = await sharp({ create: { width: 8, height: 8, channels: 3, background: 'red' } })
      .jpeg()
      .toBuffer()
    expect(await codeOf(folder.put('photo.jpg', jpeg))).toBe('COMPRESSION_LOSSY')
    expect(await codeOf(folder.put('photo.tif', jpeg))).toBe('COMPRESSION_LOSSY')
    mkdirSync(join(folder.path, 'folder.tif'))
    expect(await codeOf(join(folder.path, 'folder.tif'))).toBe('FILE_NOT_READABLE')
  })

  it('files cut short, anywhere', async () => {
    const late = writeTiff(page)
    const early = writeTiff({ ...page, directoryFirst: true })
    for (const length of [1, 3, 4, 7, 8, 9, 100, 3000, late.length - 30])
      expect(await codeOf(folder.put('cut.tif', late.subarray(0, length))), `${length}`).toMatch(
        /SCAN_TRUNCATED|NOT_A_SCAN/,
      )
    for (const length of [12, 100, early.length - 1])
      expect(await codeOf(folder.put('cut.tif', early.subarray(0, length))), `${length}`).toBe('SCAN_TRUNCATED')
    expect(await codeOf(folder.put('reserved.tif', Buffer.alloc(4096)))).toBe('SCAN_TRUNCATED')
  })

  it('compressed strips that end early or are no such data', async () => {
    for (const compression of ['deflate', 'lzw', 'packbits'] as const) {
      const whole = writeTiff({ ...page, compression, rowsPerStrip: 48 })
      const length = whole.readUInt32LE(4) - 8
      // The strip's length in the directory is made shorter: the file is complete, the data is not.
      expect(await withTags({ 279: long(length - 40) }, { compression, rowsPerStrip: 48 })).toBe('SCAN_TRUNCATED')
    }
    for (const compression of ['deflate', 'lzw'] as const) {
      const bytes = writeTiff({ ...page, compression, rowsPerStrip: 48 })
      bytes.fill(0xff, 8, 2000)
      expect(await codeOf(folder.put('bad.tif', bytes))).toMatch(/SCAN_(DAMAGED|TRUNCATED)/)
    }
  })

  it('a strip that unpacks to far more than its rows', async () => {
    const bomb = deflateSync(Buffer.alloc(1 << 20))
    const bytes = Buffer.concat([
      writeTiff({
        ...page,
        compression: 'deflate',
        rowsPerStrip: 48,
        tags: { 279: long(bomb.length), 273: long(100_000) },
      }),
    ])
    const file = Buffer.concat([bytes, Buffer.alloc(100_000 - bytes.length), bomb])
    expect(await codeOf(folder.put('bomb.tif', file))).toBe('SCAN_DAMAGED')
  })

  it('strips that are not written yet, lie outside, or do not add up', async () => {
    const strips = (...at: number[]) => ({ 273: long(...at) })
    expect(await withTags(strips(8, 0, 4104))).toBe('SCAN_TRUNCATED')
    expect(await withTags(strips(8, 2056, 1e9))).toBe('SCAN_TRUNCATED')
    expect(await withTags(strips(8, 4, 4104))).toBe('SCAN_DAMAGED')
    expect(await withTags(strips(8, 2056))).toBe('SCAN_DAMAGED')
    expect(await withTags({ 279: long(2048, 2048) })).toBe('SCAN_DAMAGED')
    expect(await withTags({ 279: long(2048, 2047, 2048) })).toBe('SCAN_DAMAGED')
    expect(await withTags({ 279: long(2048, 2048, 2048) })).toBe('opened')
    expect(await withTags({ 278: long(15) })).toBe('SCAN_DAMAGED')
    expect(await withTags({ 273: null })).toBe('SCAN_DAMAGED')
    expect(await withTags({ 279: null }, { compression: 'lzw' })).toBe('SCAN_DAMAGED')
    expect(await withTags({ 273: { ...long(8, 2056, 4104), claimedCount: 0x7fffffff } })).toBe('SCAN_DAMAGED')
    expect(await withTags({ 273: { ...long(8, 2056, 4104), claimedPlace: 0x7fffffff } })).toBe('SCAN_TRUNCATED')
  })

  it('sizes that cannot be', async () => {
    expect(await withTags({ 256: long(400_000), 257: long(400_000) })).toBe('SCAN_TOO_LARGE')
    expect(await withTags({ 257: long(0xffffffff) })).toBe('SCAN_TOO_LARGE')
    expect(await withTags({ 256: long(0) })).toBe('SCAN_NO_PIXELS')
    expect(await withTags({ 257: null })).toBe('SCAN_NO_PIXELS')
    expect(await withTags({ 322: long(0), 323: long(16) })).toBe('SCAN_DAMAGED')
    const tiles = { 322: long(65536), 323: long(65536), 324: long(8), 325: long(2048) }
    expect(await withTags(tiles, { compression: 'lzw' })).toBe('COMPRESSION_UNSUPPORTED')
    // Given to sharp, this one took all the memory of the machine.
    const planes = { 256: long(60_000), 257: long(60_000), 278: long(60_000), 277: short(2), 284: short(2) }
    const places = { 273: long(8, 8), 279: long(100, 100) }
    expect(await withTags({ ...planes, ...places }, { compression: 'lzw' })).toBe('COMPRESSION_UNSUPPORTED')
  })

  it('a page of 60 000 x 60 000 in one small compressed strip, quickly', async () => {
    const before = Date.now()
    for (const compression of ['lzw', 'deflate'] as const)
      expect(
        await withTags({ 256: long(60_000), 257: long(60_000), 278: long(60_000) }, { compression, rowsPerStrip: 48 }),
      ).toMatch(/SCAN_(TRUNCATED|DAMAGED)|FILE_NOT_READABLE/)
    expect(Date.now() - before).toBeLessThan(20_000)
  })

  it('a compressed strip that claims hundreds of megabytes: far too many for its rows are not read, too many for sharp are refused', async () => {
    const sparse = (tags: NonNullable<TiffToWrite['tags']>): string => {
      const file = folder.put('sparse.tif', writeTiff({ ...page, compression: 'deflate', rowsPerStrip: 48, tags }))
      truncateSync(file, 720e6)
      return file
    }
    const before = process.memoryUsage().rss
    expect(await codeOf(sparse({ 279: long(701e6) }))).toBe('opened')
    expect(process.memoryUsage().rss - before).toBeLessThan(300e6)
    const large = { 256: long(60_000), 257: long(60_000), 278: long(60_000) }
    expect(await codeOf(sparse({ ...large, 279: long(701e6) }))).toBe('COMPRESSION_UNSUPPORTED')
  })

  it('directories that lead back to themselves', async () => {
    const bytes = writeTiff(page)
    expect(await ofTiff({ next: bytes.readUInt32LE(4) })).toBe('SCAN_DAMAGED')
  })

  it('directories that are damaged', async () => {
    const bytes = writeTiff(page)
    const at = bytes.readUInt32LE(4)
    const changed = (place: number, value: number): Promise<string> => {
      const copy = Buffer.from(bytes)
      copy.writeUInt16LE(value, place)
      return codeOf(folder.put('directory.tif', copy))
    }
    expect(await changed(at, 0)).toBe('SCAN_DAMAGED')
    expect(await changed(at, 4000)).toBe('SCAN_TRUNCATED')
    expect(await changed(at, 60_000)).toBe('SCAN_DAMAGED')
    expect(await changed(4, 2)).toBe('SCAN_DAMAGED')
    const big = writeTiff({ ...page, big: true })
    big.writeUInt16LE(4, 4)
    expect(await codeOf(folder.put('big.tif', big))).toBe('SCAN_DAMAGED')
  })

  it('bits that cannot be measured', async () => {
    for (const bits of [1, 4, 12, 24, 32, 64])
      expect(await withTags({ 258: short(bits) }), `${bits}`).toBe('BITS_UNSUPPORTED')
    for (const format of [2, 3, 5, 6]) expect(await withTags({ 339: short(format) })).toBe('BITS_UNSUPPORTED')
    for (const format of [1, 4]) expect(await withTags({ 339: short(format) })).toBe('opened')
    expect(await withTags({ 258: null })).toBe('BITS_UNSUPPORTED')
    expect(await withTags({ 258: short(8, 16, 8), 277: short(3), 262: short(2) })).toBe('BITS_UNSUPPORTED')
  })

  it('colours that cannot be measured', async () => {
    for (const photometric of [3, 4, 5, 6, 8, 9, 10, 32803, 32844, 32845, 34892, 99])
      expect(await withTags({ 262: short(photometric) }), `${photometric}`).toBe('COLOUR_UNSUPPORTED')
    expect(await withTags({ 262: null })).toBe('SCAN_DAMAGED')
    expect(await withTags({ 262: short(2) })).toBe('SCAN_DAMAGED')
    expect(await withTags({ 277: short(0) })).toBe('SCAN_DAMAGED')
    expect(await withTags({ 277: short(9) })).toBe('COLOUR_UNSUPPORTED')
    expect(await withTags({ 284: short(3) })).toBe('SCAN_DAMAGED')
  })

  it('compressions it cannot read, by name', async () => {
    const problemOf = async (compression: number) => {
      const file = folder.put('c.tif', writeTiff({ ...page, tags: { 259: short(compression) } }))
      return (await openScan(file, { channel: 'blue', tempDir: folder.path }).catch(e => e)).problem
    }
    for (const [code, name] of [
      [34925, 'LZMA'],
      [50000, 'ZSTD'],
      [50001, 'WebP'],
      [4, 'fax'],
      [34712, 'JPEG 2000'],
      [12345, '12345'],
    ] as const) {
      const problem = await problemOf(code)
      expect(problem.code).toBe('COMPRESSION_UNSUPPORTED')
      expect(problem.what).toContain(name)
    }
    for (const code of [6, 7]) expect((await problemOf(code)).code).toBe('COMPRESSION_LOSSY')
    expect(await withTags({ 317: short(3) }, { compression: 'lzw' })).toBe('COMPRESSION_UNSUPPORTED')
    const old = writeTiff({ ...page, compression: 'lzw' })
    old.writeUInt16BE(0x0001, 8)
    expect(await codeOf(folder.put('old.tif', old))).toBe('COMPRESSION_UNSUPPORTED')
  })

  it('PNG that is cut, damaged, or cannot be measured', async () => {
    const raw = { raw: { width: 64, height: 48, channels: 1 as const } }
    const png = writePng({ ...page, bits: 16, samples: 1 })
    expect(await codeOf(folder.put('ok.png', png))).toBe('opened')
    for (const length of [5, 8, 20, 33, 60, png.length - 1])
      expect(await codeOf(folder.put('cut.png', png.subarray(0, length))), `${length}`).toBe('SCAN_TRUNCATED')
    const bits = await sharp(new Uint8Array(64 * 48), raw)
      .png({ palette: true })
      .toBuffer()
    expect(await codeOf(folder.put('palette.png', bits))).toMatch(/COLOUR_UNSUPPORTED|BITS_UNSUPPORTED/)
    const changed = (at: number, value: number): Promise<string> => {
      const copy = Buffer.from(png)
      copy.writeUInt32BE(value, at)
      return codeOf(folder.put('changed.png', copy))
    }
    expect(await changed(16, 0)).toBe('SCAN_NO_PIXELS')
    expect(await changed(16, 400_000)).toBe('SCAN_TOO_LARGE')
    expect(await changed(8, 12)).toBe('SCAN_DAMAGED')
    expect(await changed(37, 0x01020304)).toBe('SCAN_DAMAGED')
    const kind = Buffer.from(png)
    for (const [bitsByte, kindByte, code] of [
      [1, 0, 'BITS_UNSUPPORTED'],
      [4, 0, 'BITS_UNSUPPORTED'],
      [8, 3, 'COLOUR_UNSUPPORTED'],
      [16, 5, 'SCAN_DAMAGED'],
    ] as const) {
      kind[24] = bitsByte
      kind[25] = kindByte
      expect(await codeOf(folder.put('kind.png', kind))).toBe(code)
    }
  })

  it('never with a resolution, a date or a name that cannot be: those are left out', async () => {
    const tags = {
      282: { type: 'rational', values: [0, 0] } as const,
      283: { type: 'rational', values: [0, 1] } as const,
      306: ascii('0000:00:00 00:00:00'),
      271: { ...ascii('a long maker name'), claimedPlace: 0x7fffffff },
      272: { ...ascii('a long model name'), claimedCount: 0x7fffffff },
    }
    const file = folder.put('odd-tags.tif', writeTiff({ ...page, tags }))
    const scan = await openScan(file, { channel: 'blue', tempDir: folder.path })
    expect(scan.header).toMatchObject({ dpi: null, taggedAt: null, maker: null })
    expect(scan.header.warnings.join()).toMatch(/cannot be right/)
    scan.close()
  })
})

describe('openScan on files with bytes changed or cut at random', () => {
  it('300 seeded cases: a problem or codes, never anything else', async () => {
    let seed = 1
    const random = (below: number): number => {
      // Numerical Recipes' quick generator; the high bits are used.
      seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0
      return Math.floor((seed / 2 ** 32) * below)
    }
    const originals = [
      writeTiff(page),
      writeTiff({ ...page, directoryFirst: true, littleEndian: false }),
      writeTiff({ ...page, compression: 'lzw', predictor: 2 }),
      writeTiff({ ...page, compression: 'deflate', directoryFirst: true }),
      writeTiff({ ...page, compression: 'packbits', big: true, directoryFirst: true }),
      writeTiff({ ...page, tile: [16, 16], directoryFirst: true }),
      writePng({ ...page, bits: 16, samples: 1 }),
    ]
    const met: Record<string, number> = {}
    for (let n = 0; n < 300; n++) {
      const original = originals[n % originals.length]!
      let bytes = Buffer.from(original)
      // The directory is small; half of the changes are aimed at the first and last 300 bytes, where it lies.
      for (let k = random(8); k >= 0; k--) {
        const near = random(2) === 0
        const at = near ? (random(2) === 0 ? random(300) : bytes.length - 1 - random(300)) : random(bytes.length)
        bytes[at] = random(256)
      }
      if (random(4) === 0) bytes = bytes.subarray(0, random(bytes.length))
      const code = await codeOf(folder.put('fuzz.tif', bytes))
      met[code] = (met[code] ?? 0) + 1
    }
    expect(met.opened).toBeGreaterThan(20)
    expect(Object.keys(met).length).toBeGreaterThan(5)
    expect(statSync(folder.path).isDirectory()).toBe(true)
  })

  it('encoded noise opens as the noise it is', async () => {
    expect(encodeLzw(new Uint8Array(data.buffer)).length).toBeGreaterThan(1000)
    expect(await ofTiff({ compression: 'lzw', rowsPerStrip: 48 })).toBe('opened')
  })
})

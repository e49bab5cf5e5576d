import { deflateSync } from 'node:zlib'

/** One entry of a directory: field type and values. Rationals are pairs of numbers. Text is NUL-terminated here. */
export interface TagValue {
  readonly type: 'byte' | 'ascii' | 'short' | 'long' | 'rational' | 'float' | 'long8'
  readonly values: readonly number[] | string
  /** Written as the count instead of the true one. */
  readonly claimedCount?: number
  /** Written as the place of the values instead of the true one. */
  readonly claimedPlace?: number
}

export interface TiffToWrite {
  readonly width: number
  readonly height: number
  /** Samples, interleaved, row by row: `width * height * samples`. */
  readonly data: ArrayLike<number>
  readonly samples?: number
  readonly bits?: 8 | 16
  readonly littleEndian?: boolean
  readonly big?: boolean
  /** 0 min-is-white, 1 min-is-black, 2 RGB. */
  readonly photometric?: number
  readonly compression?: 'none' | 'deflate' | 'oldDeflate' | 'lzw' | 'packbits'
  readonly predictor?: 1 | 2
  readonly planar?: boolean
  readonly tile?: readonly [width: number, height: number]
  readonly rowsPerStrip?: number
  readonly extraSamples?: readonly number[]
  /** Bits of every stored byte run backwards. */
  readonly bitsReversed?: boolean
  /** Directory before the pixels. */
  readonly directoryFirst?: boolean
  /** Bytes between chunks. */
  readonly gap?: number
  /** Added to the directory, or put in place of what would be there; null leaves the tag out. */
  readonly tags?: Readonly<Record<number, TagValue | null>>
  /** Place of the next directory, 0 for none. */
  readonly next?: number
}

const COMPRESSION_CODE = { none: 1, lzw: 5, deflate: 8, oldDeflate: 32946, packbits: 32773 }
const TYPE = {
  byte: [1, 1],
  ascii: [2, 1],
  short: [3, 2],
  long: [4, 4],
  rational: [5, 8],
  float: [11, 4],
  long8: [16, 8],
} as const

/** Writes one TIFF page as any scanner, or an ill-wisher, might (TIFF 6.0). Own code, so that tests need no files. */
export function writeTiff(picture: TiffToWrite): Buffer {
  const {
    width,
    height,
    data,
    samples = 1,
    bits = 16,
    littleEndian = true,
    big = false,
    tile,
    planar = false,
  } = picture
  const chunkWidth = tile?.[0] ?? width
  const chunkHeight = tile?.[1] ?? picture.rowsPerStrip ?? height
  const planes = planar ? samples : 1
  const inChunk = planar ? 1 : samples
  const chunks: Buffer[] = []
  for (let plane = 0; plane < planes; plane++)
    for (let top = 0; top < height; top += chunkHeight)
      for (let left = 0; left < width; left += chunkWidth) {
        const rows = tile === undefined ? Math.min(chunkHeight, height - top) : chunkHeight
        const values = new Uint16Array(rows * chunkWidth * inChunk)
        if (tile === undefined && !planar)
          for (let i = 0; i < values.length; i++) values[i] = data[top * width * samples + i]!
        else
          for (let r = 0; r < rows; r++)
            for (let c = 0; c < chunkWidth; c++)
              for (let s = 0; s < inChunk; s++) {
                // Beyond the page a tile holds padding, which must not come out.
                const inside = top + r < height && left + c < width
                values[(r * chunkWidth + c) * inChunk + s] = inside
                  ? data[((top + r) * width + left + c) * samples + plane + s]!
                  : 0xabcd
              }
        chunks.push(packChunk(values, rows, chunkWidth * inChunk, inChunk, picture))
      }

  const headBytes = big ? 16 : 8
  const gap = picture.gap ?? 0
  const offsets: number[] = []
  const own: Record<number, TagValue | null> = {
    256: long(width),
    257: long(height),
    258: short(...new Array<number>(samples).fill(bits)),
    259: short(COMPRESSION_CODE[picture.compression ?? 'none']),
    262: short(picture.photometric ?? (samples >= 3 ? 2 : 1)),
    277: short(samples),
  }
  if (picture.bitsReversed === true) own[266] = short(2)
  if (planar) own[284] = short(2)
  if (picture.predictor === 2) own[317] = short(2)
  if (picture.extraSamples !== undefined) own[338] = short(...picture.extraSamples)
  if (tile !== undefined) Object.assign(own, { 322: long(tile[0]), 323: long(tile[1]) })
  else own[278] = long(chunkHeight)
  const wide = big ? 'long8' : 'long'
  const places = { [tile === undefined ? 273 : 324]: { type: wide, values: offsets } as TagValue }
  const lengths = { [tile === undefined ? 279 : 325]: { type: wide, values: chunks.map(c => c.length) } as TagValue }
  const pixelBytes = chunks.reduce((sum, chunk) => sum + chunk.length + (chunk.length % 2) + gap, 0)
  const tags: Record<number, TagValue | null> = { ...own, ...places, ...lengths, ...picture.tags }
  // The places do not change the length of the directory, so it can be measured before they are known.
  for (let chunk = 0; chunk < chunks.length; chunk++) offsets.push(0)
  const directoryBytes = directory(tags, 0, littleEndian, big, 0).length
  const pixelStart = headBytes + (picture.directoryFirst === true ? directoryBytes : 0)
  const directoryStart = picture.directoryFirst === true ? headBytes : headBytes + pixelBytes
  let at = pixelStart
  for (let chunk = 0; chunk < chunks.length; chunk++) {
    offsets[chunk] = at
    at += chunks[chunk]!.length + (chunks[chunk]!.length % 2) + gap
  }
  const file = Buffer.alloc(headBytes + pixelBytes + directoryBytes)
  const put = numberWriter(littleEndian)
  file.write(littleEndian ? 'II' : 'MM', 'latin1')
  put(file, 2, 2, big ? 43 : 42)
  if (big) put(file, 4, 2, 8)
  put(file, big ? 8 : 4, big ? 8 : 4, directoryStart)
  chunks.forEach((chunk, index) => {
    chunk.copy(file, offsets[index]!)
  })
  directory(tags, directoryStart, littleEndian, big, picture.next ?? 0).copy(file, directoryStart)
  return file
}

export const short = (...values: number[]): TagValue => ({ type: 'short', values })
export const long = (...values: number[]): TagValue => ({ type: 'long', values })
export const rational = (numerator: number, denominator: number): TagValue => ({
  type: 'rational',
  values: [numerator, denominator],
})
export const ascii = (text: string): TagValue => ({ type: 'ascii', values: text })

function numberWriter(little: boolean): (into: Buffer, at: number, bytes: number, value: number) => void {
  return (into, at, bytes, value) => {
    if (bytes === 1) into.writeUInt8(value, at)
    else if (bytes === 2) little ? into.writeUInt16LE(value, at) : into.writeUInt16BE(value, at)
    else if (bytes === 4) little ? into.writeUInt32LE(value, at) : into.writeUInt32BE(value, at)
    else little ? into.writeBigUInt64LE(BigInt(value), at) : into.writeBigUInt64BE(BigInt(value), at)
  }
}

function directory(
  tags: Record<number, TagValue | null>,
  start: number,
  little: boolean,
  big: boolean,
  next: number,
): Buffer {
  const put = numberWriter(little)
  const present = Object.entries(tags).flatMap(([tag, value]) => (value === null ? [] : [{ tag: Number(tag), value }]))
  present.sort((a, b) => a.tag - b.tag)
  const countBytes = big ? 8 : 2
  const entryBytes = big ? 20 : 12
  const linkBytes = big ? 8 : 4
  const table = Buffer.alloc(countBytes + present.length * entryBytes + linkBytes)
  put(table, 0, countBytes, present.length)
  const outside: Buffer[] = []
  let place = start + table.length
  present.forEach(({ tag, value }, index) => {
    const [code, size] = TYPE[value.type]
    const raw = valueBytes(value, little)
    const at = countBytes + index * entryBytes
    put(table, at, 2, tag)
    put(table, at + 2, 2, code)
    put(table, at + 4, big ? 8 : 4, value.claimedCount ?? raw.length / size)
    const valueAt = at + (big ? 12 : 8)
    if (raw.length <= linkBytes && value.claimedPlace === undefined) raw.copy(table, valueAt)
    else {
      put(table, valueAt, linkBytes, value.claimedPlace ?? place)
      outside.push(raw, Buffer.alloc(raw.length % 2))
      place += raw.length + (raw.length % 2)
    }
  })
  put(table, table.length - linkBytes, linkBytes, next)
  return Buffer.concat([table, ...outside])
}

function valueBytes(value: TagValue, little: boolean): Buffer {
  if (typeof value.values === 'string') return Buffer.from(`${value.values}\0`, 'latin1')
  const put = numberWriter(little)
  const size = value.type === 'rational' ? 4 : TYPE[value.type][1]
  const raw = Buffer.alloc(value.values.length * size)
  value.values.forEach((number, index) => {
    if (value.type === 'float') little ? raw.writeFloatLE(number, index * 4) : raw.writeFloatBE(number, index * 4)
    else put(raw, index * size, size, number)
  })
  return raw
}

function packChunk(values: Uint16Array, rows: number, rowSamples: number, step: number, picture: TiffToWrite): Buffer {
  const { bits = 16, littleEndian = true } = picture
  if (picture.predictor === 2)
    for (let r = 0; r < rows; r++)
      for (let i = rowSamples - 1; i >= step; i--) {
        const at = r * rowSamples + i
        values[at] = values[at]! - values[at - step]!
      }
  const raw = Buffer.from(bits === 8 ? Uint8Array.from(values).buffer : values.buffer)
  // Assumes a little-endian machine.
  if (bits === 16 && !littleEndian) raw.swap16()
  const packed = {
    none: (b: Buffer) => b,
    deflate: (b: Buffer) => deflateSync(b),
    oldDeflate: (b: Buffer) => deflateSync(b),
    lzw: encodeLzw,
    packbits: encodePackBits,
  }[picture.compression ?? 'none'](raw)
  if (picture.bitsReversed === true)
    for (let i = 0; i < packed.length; i++)
      packed[i] = Number.parseInt(packed[i]!.toString(2).padStart(8, '0').split('').reverse().join(''), 2)
  return packed
}

/** TIFF's LZW, written from section 13 of TIFF 6.0 with a table of strings. */
export function encodeLzw(raw: Uint8Array): Buffer {
  const out: number[] = []
  let held = 0
  let bits = 0
  let width = 9
  let table = new Map<string, number>()
  let next = 258
  const put = (code: number): void => {
    bits = (bits << width) | code
    held += width
    while (held >= 8) {
      held -= 8
      out.push((bits >>> held) & 0xff)
    }
    bits &= (1 << held) - 1
  }
  const codeOf = (text: string): number => (text.length === 1 ? text.charCodeAt(0) : table.get(text)!)
  put(256)
  let text = ''
  for (const byte of raw) {
    const longer = text + String.fromCharCode(byte)
    if (longer.length === 1 || table.has(longer)) {
      text = longer
      continue
    }
    put(codeOf(text))
    table.set(longer, next++)
    // The reader's table is one code behind, so this is where it, growing one code early, grows; at 4094 the table is full.
    if (next === 512 || next === 1024 || next === 2048) width++
    if (next === 4094) {
      put(256)
      table = new Map()
      next = 258
      width = 9
    }
    text = String.fromCharCode(byte)
  }
  if (text !== '') {
    put(codeOf(text))
    next++
    if (next === 512 || next === 1024 || next === 2048) width++
  }
  put(257)
  if (held > 0) out.push((bits << (8 - held)) & 0xff)
  return Buffer.from(out)
}

/** PackBits, TIFF 6.0 section 9: runs of three and more as runs, the rest as they are. */
export function encodePackBits(raw: Uint8Array): Buffer {
  const out: number[] = []
  let at = 0
  while (at < raw.length) {
    let run = 1
    while (run < 128 && raw[at + run] === raw[at]) run++
    if (run >= 3) {
      out.push(257 - run, raw[at]!)
      at += run
      continue
    }
    const from = at
    while (at < raw.length && at - from < 128 && !(raw[at] === raw[at + 1] && raw[at] === raw[at + 2])) at++
    out.push(at - from - 1, ...raw.subarray(from, at))
  }
  return Buffer.from(out)
}

import { ProblemError } from '../model/problem.js'
import type { ScanFile } from './scan-file.js'

/** One image file directory: where its values lie; they are fetched when asked for. */
export interface TiffDirectory {
  has(tag: number): boolean
  /**
   * All values of a numeric tag; rationals as quotients (a zero denominator gives Infinity or NaN). Null when the tag is absent.
   * @throws ProblemError SCAN_TRUNCATED when the values lie past the end, SCAN_DAMAGED when there are more than `atMost` or they are no numbers
   */
  numbers(tag: number, atMost: number): Float64Array | null
  /** Text up to the first NUL, trimmed, at most 256 characters. Null when absent, blank or unreadable. */
  text(tag: number): string | null
}

export interface TiffDirectories {
  readonly littleEndian: boolean
  readonly bigTiff: boolean
  /** In file order; at least one. */
  readonly pages: readonly TiffDirectory[]
  /** Whether the chain of directories ends in a place outside the file. */
  readonly chainBroken: boolean
}

/** Bytes of one value, by TIFF field type (TIFF 6.0, section 2; BigTIFF adds 16 to 18). */
const TYPE_BYTES: Readonly<Record<number, number>> = {
  1: 1,
  2: 1,
  3: 2,
  4: 4,
  5: 8,
  6: 1,
  7: 1,
  8: 2,
  9: 4,
  10: 8,
  11: 4,
  12: 8,
  13: 4,
  16: 8,
  17: 8,
  18: 8,
}
const MOST_PAGES = 1000
const MOST_ENTRIES = 4096

/**
 * Reads the directories of a TIFF or BigTIFF, either byte order (TIFF 6.0, section 2).
 * Own code, because the strips must be found in BigTIFF and in files over 2 GiB, and a hostile count must not allocate.
 * @throws ProblemError SCAN_TRUNCATED (directory past the end or not written yet), SCAN_DAMAGED (directories loop, absurd counts)
 */
export function readDirectories(file: ScanFile): TiffDirectories {
  if (file.size < 8) throw new ProblemError('SCAN_TRUNCATED', `it has only ${file.size} bytes`)
  const head = file.read(0, Math.min(16, file.size))
  const littleEndian = head[0] === 0x49
  const bigTiff = head[littleEndian ? 2 : 3] === 43
  if (bigTiff && file.size < 16) throw new ProblemError('SCAN_TRUNCATED', `it has only ${file.size} bytes`)
  const bytes = byteOrder(littleEndian)
  if (bigTiff && (bytes.u16(head, 4) !== 8 || bytes.u16(head, 6) !== 0))
    throw new ProblemError('SCAN_DAMAGED', 'its BigTIFF header is not right')

  let position = bigTiff ? bytes.u64(head, 8) : bytes.u32(head, 4)
  if (position === 0) throw new ProblemError('SCAN_TRUNCATED', 'its directory is not written yet')
  const pages: TiffDirectory[] = []
  const seen = new Set<number>()
  let chainBroken = false
  const countBytes = bigTiff ? 8 : 2
  const entryBytes = bigTiff ? 20 : 12
  const linkBytes = bigTiff ? 8 : 4
  while (position !== 0) {
    if (seen.has(position)) throw new ProblemError('SCAN_DAMAGED', 'its directories lead back to each other')
    if (pages.length >= MOST_PAGES) throw new ProblemError('SCAN_DAMAGED', `it has more than ${MOST_PAGES} pages`)
    seen.add(position)
    if (!(position >= 8 && position + countBytes <= file.size)) {
      if (pages.length > 0) {
        chainBroken = true
        break
      }
      if (position < 8) throw new ProblemError('SCAN_DAMAGED', 'its directory lies inside its header')
      throw new ProblemError('SCAN_TRUNCATED', `its directory should be at byte ${position} of ${file.size}`)
    }
    const count = file.read(position, countBytes)
    const entryCount = bigTiff ? bytes.u64(count, 0) : bytes.u16(count, 0)
    const length = entryCount * entryBytes
    const fits = entryCount <= MOST_ENTRIES && position + countBytes + length <= file.size
    if (!fits || entryCount === 0) {
      if (pages.length > 0) {
        chainBroken = true
        break
      }
      if (fits || entryCount > MOST_ENTRIES)
        throw new ProblemError('SCAN_DAMAGED', `its directory claims ${entryCount} entries`)
      throw new ProblemError('SCAN_TRUNCATED', 'it ends inside its directory')
    }
    const entries = file.read(position + countBytes, length)
    pages.push(directory(file, entries, entryCount, position + countBytes, bigTiff, bytes))
    const link = position + countBytes + length
    // A last directory without its closing link occurs; there is nothing to follow then.
    if (link + linkBytes > file.size) break
    const next = file.read(link, linkBytes)
    position = bigTiff ? bytes.u64(next, 0) : bytes.u32(next, 0)
  }
  return { littleEndian, bigTiff, pages, chainBroken }
}

interface Entry {
  readonly type: number
  readonly count: number
  readonly position: number
}

function directory(
  file: ScanFile,
  raw: Buffer,
  entryCount: number,
  at: number,
  bigTiff: boolean,
  bytes: ByteOrder,
): TiffDirectory {
  const entries = new Map<number, Entry>()
  for (let e = 0; e < entryCount; e++) {
    const start = e * (bigTiff ? 20 : 12)
    const tag = bytes.u16(raw, start)
    const type = bytes.u16(raw, start + 2)
    const count = bigTiff ? bytes.u64(raw, start + 4) : bytes.u32(raw, start + 4)
    const value = start + (bigTiff ? 12 : 8)
    const inlineBytes = bigTiff ? 8 : 4
    const inline = (TYPE_BYTES[type] ?? 1) * count <= inlineBytes
    const position = inline ? at + value : bigTiff ? bytes.u64(raw, value) : bytes.u32(raw, value)
    // The first of two entries with one tag holds, as in other readers.
    if (!entries.has(tag)) entries.set(tag, { type, count, position })
  }

  const numbers = (tag: number, atMost: number): Float64Array | null => {
    const entry = entries.get(tag)
    if (entry === undefined) return null
    const size = TYPE_BYTES[entry.type]
    const read = bytes.value[entry.type]
    if (size === undefined || read === undefined)
      throw new ProblemError('SCAN_DAMAGED', `tag ${tag} has field type ${entry.type}`)
    if (!(entry.count >= 1 && entry.count <= atMost))
      throw new ProblemError('SCAN_DAMAGED', `tag ${tag} has ${entry.count} values, expected at most ${atMost}`)
    if (!(entry.position + size * entry.count <= file.size))
      throw new ProblemError('SCAN_TRUNCATED', `the values of tag ${tag} lie past its end`)
    const raw = file.read(entry.position, size * entry.count)
    const values = new Float64Array(entry.count)
    for (let i = 0; i < entry.count; i++) values[i] = read(raw, i * size)
    return values
  }

  const text = (tag: number): string | null => {
    const entry = entries.get(tag)
    if (entry === undefined || (entry.type !== 2 && entry.type !== 1 && entry.type !== 7)) return null
    const length = Math.min(entry.count, 256)
    if (!(entry.position + length <= file.size)) return null
    const raw = file.read(entry.position, length).toString('latin1')
    const end = raw.indexOf('\0')
    // Control characters have no business in a name and would spoil a terminal.
    const clean = [...(end < 0 ? raw : raw.slice(0, end))].filter(c => c >= ' ' && c !== '\x7f').join('')
    return clean.trim() === '' ? null : clean.trim()
  }

  return { has: tag => entries.has(tag), numbers, text }
}

interface ByteOrder {
  u16(raw: Buffer, at: number): number
  u32(raw: Buffer, at: number): number
  u64(raw: Buffer, at: number): number
  readonly value: Readonly<Record<number, (raw: Buffer, at: number) => number>>
}

function byteOrder(little: boolean): ByteOrder {
  const u16 = (raw: Buffer, at: number): number => (little ? raw.readUInt16LE(at) : raw.readUInt16BE(at))
  const u32 = (raw: Buffer, at: number): number => (little ? raw.readUInt32LE(at) : raw.readUInt32BE(at))
  // Beyond 2^53 a number is not exact, but such a place is past the end of any file and is refused as that.
  const u64 = (raw: Buffer, at: number): number => Number(little ? raw.readBigUInt64LE(at) : raw.readBigUInt64BE(at))
  const i32 = (raw: Buffer, at: number): number => (little ? raw.readInt32LE(at) : raw.readInt32BE(at))
  const u8 = (raw: Buffer, at: number): number => raw.readUInt8(at)
  return {
    u16,
    u32,
    u64,
    value: {
      1: u8,
      3: u16,
      4: u32,
      5: (raw, at) => u32(raw, at) / u32(raw, at + 4),
      6: (raw, at) => raw.readInt8(at),
      7: u8,
      8: (raw, at) => (little ? raw.readInt16LE(at) : raw.readInt16BE(at)),
      9: i32,
      10: (raw, at) => i32(raw, at) / i32(raw, at + 4),
      11: (raw, at) => (little ? raw.readFloatLE(at) : raw.readFloatBE(at)),
      12: (raw, at) => (little ? raw.readDoubleLE(at) : raw.readDoubleBE(at)),
      13: u32,
      16: u64,
      17: (raw, at) => Number(little ? raw.readBigInt64LE(at) : raw.readBigInt64BE(at)),
      18: u64,
    },
  }
}

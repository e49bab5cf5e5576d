import { closeSync, openSync, writeSync } from 'node:fs'
import { endianness } from 'node:os'
import { join } from 'node:path'
import { ProblemError } from '../model/problem.js'
import type { Channel, ScanHeader } from '../model/scan.js'
import type { ChunkReader, CodeReader } from './plain-strip-reader.js'
import { removeUnpacked, type UnpackedPicture, unpackingFolder } from './unpacked-picture.js'

/** Rows of a packed scan that another thread unpacks. Plain data: it crosses into that thread. */
export interface UnpackShare extends UnpackedRows {
  /** The packed scan. */
  readonly file: string
  readonly channel: Channel
}

/** Where rows `from` to `to` (not included) of a scan are written: an uncompressed file whose codes begin at byte `at`. */
export interface UnpackedRows {
  readonly into: string
  readonly at: number
  readonly from: number
  readonly to: number
}

/**
 * Writes the codes of the channel that is read, band by band, as an uncompressed 16-bit grey TIFF of one strip (BigTIFF, so of any size).
 * Our own decoders take less memory than sharp's pipeline, and for a page packed by Deflate less time.
 * @param beside has half of the rows unpacked by another thread meanwhile; what goes wrong there is done here
 * @throws ProblemError FILE_NOT_READABLE (no room), and what the reader meets
 */
export async function unpackCodes(
  header: Pick<ScanHeader, 'file' | 'width' | 'height' | 'channel'>,
  reader: CodeReader | ChunkReader,
  tempDir: string,
  beside?: (share: UnpackShare) => Promise<void>,
): Promise<UnpackedPicture> {
  const { file, width, height, channel } = header
  const path = join(unpackingFolder(tempDir, 2 * width * height), 'codes.tif')
  const remove = (): void => removeUnpacked(path)
  try {
    const head = tiffHead(width, height)
    const created = openSync(path, 'wx')
    try {
      write(created, head, 0)
    } finally {
      closeSync(created)
    }
    const rows = { into: path, at: head.length }
    const chunk = 'chunkRows' in reader ? reader.chunkRows : height
    const middle = chunk * Math.round(height / 2 / chunk)
    if (beside === undefined || !(middle > 0 && middle < height))
      unpackRows(width, reader, { ...rows, from: 0, to: height })
    else {
      const other = { ...rows, from: middle, to: height }
      const asked = beside({ ...other, file, channel })
      // Waited for even when the half unpacked here fails: nobody may write there once it is removed.
      const done = asked.then(() => true).catch(() => false)
      try {
        unpackRows(width, reader, { ...rows, from: 0, to: middle })
      } finally {
        await done
      }
      if (!(await done)) unpackRows(width, reader, other)
    }
  } catch (error) {
    remove()
    throw error
  }
  return { path, remove }
}

/** Unpacks rows into a file that is there. @throws ProblemError as `unpackCodes` */
export function unpackRows(
  width: number,
  reader: CodeReader | ChunkReader,
  { into, at, from, to }: UnpackedRows,
): void {
  const file = openSync(into, 'r+')
  try {
    reader.forEachBand(
      ({ codes, row, height }) =>
        write(file, new Uint8Array(codes.buffer, codes.byteOffset, 2 * width * height), at + 2 * width * row),
      from,
      to,
    )
  } finally {
    closeSync(file)
  }
}

function write(file: number, bytes: Uint8Array, place: number): void {
  try {
    for (let done = 0; done < bytes.length; ) done += writeSync(file, bytes, done, bytes.length - done, place + done)
  } catch (error) {
    throw new ProblemError(
      'FILE_NOT_READABLE',
      `it must be unpacked and that cannot be written (${(error as NodeJS.ErrnoException).code})`,
    )
  }
}

const SHORT = 3
const LONG = 4
const LONG8 = 16
const FIRST_DIRECTORY = 16

/** The head of a BigTIFF (BigTIFF design of libtiff 4.0) whose codes, in this machine's order, follow it. */
function tiffHead(width: number, height: number): Uint8Array {
  const little = endianness() === 'LE'
  const tags: readonly (readonly [tag: number, type: number, value: number])[] = [
    [256, LONG, width],
    [257, LONG, height],
    [258, SHORT, 16],
    [259, SHORT, 1],
    [262, SHORT, 1],
    [273, LONG8, 0],
    [277, SHORT, 1],
    [278, LONG, height],
    [279, LONG8, 2 * width * height],
  ]
  const bytes = new Uint8Array(FIRST_DIRECTORY + 8 + 20 * tags.length + 8)
  const view = new DataView(bytes.buffer)
  const long8 = (at: number, value: number) => view.setBigUint64(at, BigInt(value), little)
  bytes.fill(little ? 0x49 : 0x4d, 0, 2)
  view.setUint16(2, 43, little)
  view.setUint16(4, 8, little)
  long8(8, FIRST_DIRECTORY)
  long8(FIRST_DIRECTORY, tags.length)
  for (const [i, [tag, type, value]] of tags.entries()) {
    const at = FIRST_DIRECTORY + 8 + 20 * i
    view.setUint16(at, tag, little)
    view.setUint16(at + 2, type, little)
    long8(at + 4, 1)
    if (type === SHORT) view.setUint16(at + 12, value, little)
    else if (type === LONG) view.setUint32(at + 12, value, little)
    else long8(at + 12, tag === 273 ? bytes.length : value)
  }
  return bytes
}

import { inflateSync } from 'node:zlib'
import { ProblemError } from '../model/problem.js'
import { decodeLzw } from './decode-lzw.js'
import { decodePackBits } from './decode-packbits.js'
import { reverseBits, swapToMachineOrder } from './stored-bytes.js'
import type { TiffLayout } from './tiff-layout.js'

/**
 * Decompresses strips or tiles. The bytes returned are in the machine's order, start on an even byte, and are valid until the next call.
 * `stored` may be changed in place.
 * @throws ProblemError SCAN_DAMAGED when the data cannot be, SCAN_TRUNCATED when it ends before its rows are complete
 */
export function chunkDecoder(layout: TiffLayout): (stored: Uint8Array, chunk: number, rows: number) => Uint8Array {
  const rowBytes = layout.chunkWidth * layout.samples * (layout.bits / 8)
  const fullBytes = rowBytes * layout.chunkHeight
  let scratch = new Uint8Array(0)
  const room = (bytes: number): Uint8Array => {
    if (scratch.length < bytes) scratch = new Uint8Array(bytes)
    return scratch
  }
  return (stored, chunk, rows) => {
    const wanted = rows * rowBytes
    const name = `${layout.tiled ? 'tile' : 'strip'} ${chunk + 1} of ${layout.offsets.length}`
    if (layout.bitsReversed) reverseBits(stored)
    let bytes: Uint8Array
    if (layout.compression === 'none') {
      bytes = stored
      // A view of 16-bit samples must start on an even byte.
      if (bytes.byteOffset % 2 === 1) {
        bytes = room(wanted)
        bytes.set(stored.subarray(0, wanted))
      }
    } else if (layout.compression === 'Deflate') {
      bytes = inflate(stored, wanted, fullBytes, name)
    } else {
      bytes = room(wanted)
      const made =
        layout.compression === 'LZW' ? decodeLzw(stored, bytes, wanted) : decodePackBits(stored, bytes, wanted)
      if (made === -1) throw new ProblemError('SCAN_DAMAGED', `${name} is no valid ${layout.compression} data`)
      if (made < wanted) throw new ProblemError('SCAN_TRUNCATED', `${name} ends after ${made} of ${wanted} bytes`)
    }
    bytes = bytes.subarray(0, wanted)
    if (layout.bits === 16) swapToMachineOrder(bytes, layout.littleEndian)
    return bytes
  }
}

/** Flush value that lets an unfinished stream give what it has: Z_SYNC_FLUSH. */
const SYNC_FLUSH = 2

function inflate(stored: Uint8Array, wanted: number, most: number, name: string): Uint8Array {
  let bytes: Buffer
  try {
    bytes = inflateSync(stored, {
      // One piece of the right size, so that nothing is joined; some writers pad the last strip to full height.
      chunkSize: Math.max(64, wanted),
      maxOutputLength: most + 65536,
      finishFlush: SYNC_FLUSH,
    })
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code
    if (code === 'ERR_BUFFER_TOO_LARGE')
      throw new ProblemError('SCAN_DAMAGED', `${name} unpacks to more than its ${most} bytes`)
    if (typeof code === 'string' && code.startsWith('Z_'))
      throw new ProblemError('SCAN_DAMAGED', `${name} is no valid Deflate data`)
    throw error
  }
  if (bytes.length < wanted)
    throw new ProblemError('SCAN_TRUNCATED', `${name} ends after ${bytes.length} of ${wanted} bytes`)
  return bytes.byteOffset % 2 === 0 ? bytes : new Uint8Array(bytes)
}

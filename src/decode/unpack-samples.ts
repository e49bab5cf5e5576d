import { type PixelLoops, pixelLoops } from '../kernels/pixel-loops.js'

/** How the samples of a chunk become codes of one channel. */
export interface Unpacking {
  readonly bits: 8 | 16
  /** Samples side by side in a pixel, and which of them is wanted. */
  readonly samples: number
  readonly sample: number
  /** Each sample is stored as the difference from its left neighbour (TIFF 6.0, section 14). */
  readonly differenced: boolean
  /** Turn codes, because white is stored as 0. */
  readonly turned: boolean
}

/**
 * Takes one channel out of rows of interleaved samples, undoing the predictor on the way.
 * 8-bit samples are multiplied by 257, so that 255 becomes 65535.
 * @param bytes rows of `rowPixels * samples` samples, in the machine's byte order, starting on an even byte
 * @param into codes, row by row `intoStride` apart from `intoAt`; `columns` of each row are taken, from `firstColumn`
 */
export function unpackSamples(
  bytes: Uint8Array,
  rowPixels: number,
  rows: number,
  how: Unpacking,
  firstColumn: number,
  columns: number,
  into: Uint16Array,
  intoAt: number,
  intoStride: number,
): void {
  const { samples, sample, differenced } = how
  if (how.bits === 16 && (differenced || samples > 1)) {
    takeWide(bytes, rowPixels, rows, how, firstColumn, columns, into, intoAt, intoStride)
    return
  }
  const rowSamples = rowPixels * samples
  const flip = how.turned ? 0xffff : 0
  const wide = how.bits === 16
  const from = wide ? new Uint16Array(bytes.buffer, bytes.byteOffset, rows * rowSamples) : bytes
  const scale = wide ? 1 : 257
  const mask = wide ? 0xffff : 0xff
  for (let r = 0; r < rows; r++) {
    let at = r * rowSamples + sample
    let to = intoAt + r * intoStride
    const end = to + columns
    if (differenced) {
      let sum = 0
      for (let c = 0; c < firstColumn; c++, at += samples) sum += from[at]!
      for (; to < end; to++, at += samples) {
        sum = (sum + from[at]!) & mask
        into[to] = (sum * scale) ^ flip
      }
    } else if (wide && samples === 1 && flip === 0) {
      at += firstColumn
      into.set(from.subarray(at, at + columns) as Uint16Array, to)
    } else {
      at += firstColumn * samples
      for (; to < end; to++, at += samples) into[to] = (from[at]! * scale) ^ flip
    }
  }
}

/** Rows go through the compiled loops in pieces of about so many bytes, which stay near the processor. */
const PIECE_BYTES = 256 << 10

/** Room for the longest row so far, or a piece. Shared: unpacking is synchronous. */
let room: { readonly loops: PixelLoops; readonly bytes: number } | null = null

/** 16-bit samples by the compiled loops: under half the time of the same in JavaScript. */
function takeWide(
  bytes: Uint8Array,
  rowPixels: number,
  rows: number,
  { samples, sample, differenced, turned }: Unpacking,
  firstColumn: number,
  columns: number,
  into: Uint16Array,
  intoAt: number,
  intoStride: number,
): void {
  const rowBytes = 2 * rowPixels * samples
  if (room === null || room.bytes < rowBytes) {
    const most = Math.max(rowBytes, PIECE_BYTES)
    // Behind the rows one row of codes, never longer than a row of samples.
    room = { loops: pixelLoops(2 * most), bytes: most }
  }
  const { loops } = room
  const pieceRows = Math.max(1, Math.floor(PIECE_BYTES / rowBytes))
  const codesAt = room.bytes
  const flip = turned ? 0xffff : 0
  for (let from = 0; from < rows; from += pieceRows) {
    const piece = Math.min(pieceRows, rows - from)
    new Uint8Array(loops.memory, 0, piece * rowBytes).set(bytes.subarray(from * rowBytes, (from + piece) * rowBytes))
    for (let r = 0; r < piece; r++) {
      const at = r * rowBytes + 2 * sample
      // Differences add up from the first column on, wanted or not.
      if (differenced) loops.sumWide(at, samples, firstColumn + columns, flip, codesAt)
      else loops.takeWide(at + 2 * firstColumn * samples, samples, columns, flip, codesAt)
      const codes = new Uint16Array(loops.memory, codesAt + (differenced ? 2 * firstColumn : 0), columns)
      into.set(codes, intoAt + (from + r) * intoStride)
    }
  }
}

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

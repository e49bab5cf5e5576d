import type { PixelRect } from '../model/geometry.js'
import type { CodeWindow } from '../model/scan.js'
import type { ScanFile } from './scan-file.js'
import { reverseBits, swapToMachineOrder } from './stored-bytes.js'
import type { TiffLayout } from './tiff-layout.js'
import { unpackSamples } from './unpack-samples.js'

/** Hands out codes of one channel; the page-border check is done by the caller. */
export interface CodeReader {
  readWindow(rect: PixelRect): CodeWindow
  /** The band's codes are valid until `visit` returns. */
  forEachBand(visit: (band: CodeWindow) => void): void
}

/** Codes of rows that are packed so many together. */
export interface ChunkReader extends CodeReader {
  readonly chunkRows: number
  /** @param from first row, a multiple of `chunkRows`; up to but not with row `to` */
  forEachBand(visit: (band: CodeWindow) => void, from?: number, to?: number): void
}

/** Bytes read at once: large enough to stream, small enough to stay near the processor, as two threads may read at the same time. */
const BAND_BYTES = 1 << 20

/**
 * Reads uncompressed strips: any row can be found without reading what lies before it.
 * Where codes are stored as the machine holds them, bands are views on the bytes just read.
 * @param sample which of the `layout.samples` side by side is wanted
 * @param plane which plane, 0 unless planar
 */
export function plainStripReader(file: ScanFile, layout: TiffLayout, sample: number, plane: number): CodeReader {
  const { width, height, samples, chunkHeight, chunksDown, offsets } = layout
  const pixelBytes = samples * (layout.bits / 8)
  const rowBytes = width * pixelBytes
  const how = { bits: layout.bits, samples, sample, differenced: false, turned: layout.minIsWhite }
  const asStored = layout.bits === 16 && samples === 1 && !layout.minIsWhite

  const prepare = (bytes: Uint8Array): void => {
    if (layout.bitsReversed) reverseBits(bytes)
    if (layout.bits === 16) swapToMachineOrder(bytes, layout.littleEndian)
  }
  const placeOf = (row: number): number => {
    const strip = Math.floor(row / chunkHeight)
    return offsets[plane * chunksDown + strip]! + (row - strip * chunkHeight) * rowBytes
  }
  /** Whole rows, neighbouring strips in one go. */
  const readRows = (row: number, rows: number, into: Uint8Array): void => {
    let first = row
    let start = placeOf(row)
    let end = start + rowBytes
    for (let r = row + 1; r <= row + rows; r++) {
      const next = r < row + rows ? placeOf(r) : -1
      if (next === end) {
        end += rowBytes
        continue
      }
      file.readInto(into, (first - row) * rowBytes, end - start, start)
      first = r
      start = next
      end = start + rowBytes
    }
  }

  const forEachBand = (visit: (band: CodeWindow) => void): void => {
    const bandRows = Math.min(height, Math.max(1, Math.floor(BAND_BYTES / rowBytes)))
    const buffer = new Uint8Array(bandRows * rowBytes)
    const taken = asStored ? new Uint16Array(buffer.buffer) : new Uint16Array(bandRows * width)
    for (let row = 0; row < height; row += bandRows) {
      const rows = Math.min(bandRows, height - row)
      const bytes = rows === bandRows ? buffer : buffer.subarray(0, rows * rowBytes)
      readRows(row, rows, bytes)
      prepare(bytes)
      if (!asStored) unpackSamples(bytes, width, rows, how, 0, width, taken, 0, width)
      const codes = rows === bandRows ? taken : taken.subarray(0, rows * width)
      visit({ column: 0, row, width, height: rows, codes })
    }
  }

  const readWindow = (rect: PixelRect): CodeWindow => {
    const codes = new Uint16Array(rect.width * rect.height)
    const partBytes = rect.width * pixelBytes
    // A narrow window is read row by row; a wide one in whole rows, which are fewer and larger reads.
    const narrow = partBytes * 4 < rowBytes
    if (narrow && asStored) {
      const bytes = new Uint8Array(codes.buffer)
      for (let r = 0; r < rect.height; r++)
        file.readInto(bytes, r * partBytes, partBytes, placeOf(rect.row + r) + rect.column * pixelBytes)
      prepare(bytes)
      return { ...rect, codes }
    }
    const span = narrow ? rect.width : width
    const skip = narrow ? 0 : rect.column
    const blockRows = Math.min(rect.height, Math.max(1, Math.floor(BAND_BYTES / (span * pixelBytes))))
    const buffer = new Uint8Array(blockRows * span * pixelBytes)
    for (let r = 0; r < rect.height; r += blockRows) {
      const rows = Math.min(blockRows, rect.height - r)
      const bytes = buffer.subarray(0, rows * span * pixelBytes)
      if (narrow)
        for (let k = 0; k < rows; k++)
          file.readInto(bytes, k * partBytes, partBytes, placeOf(rect.row + r + k) + rect.column * pixelBytes)
      else readRows(rect.row + r, rows, bytes)
      prepare(bytes)
      unpackSamples(bytes, span, rows, how, skip, rect.width, codes, r * rect.width, rect.width)
    }
    return { ...rect, codes }
  }
  return { readWindow, forEachBand }
}

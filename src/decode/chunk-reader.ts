import type { PixelRect } from '../model/geometry.js'
import type { CodeWindow } from '../model/scan.js'
import { chunkDecoder } from './decode-chunk.js'
import type { ChunkReader } from './plain-strip-reader.js'
import type { ScanFile } from './scan-file.js'
import type { TiffLayout } from './tiff-layout.js'
import { unpackSamples } from './unpack-samples.js'

/** Codes of a band handed out at once, bytes. */
const BAND_BYTES = 4 << 20
/** Decoded chunks kept for windows, bytes. */
const KEPT_BYTES = 48 << 20
/** Neighbouring chunks are read together up to this many bytes. */
const READ_BYTES = 8 << 20

/**
 * Reads compressed strips, and tiles of any kind, chunk by chunk. Windows keep the chunks they touched last.
 * @param sample which of the `layout.samples` side by side is wanted
 * @param plane which plane, 0 unless planar
 */
export function chunkReader(file: ScanFile, layout: TiffLayout, sample: number, plane: number): ChunkReader {
  const { width, height, chunkWidth, chunkHeight, chunksAcross, chunksDown, samples } = layout
  const firstChunk = plane * chunksAcross * chunksDown
  const how = { bits: layout.bits, samples, sample, differenced: layout.differenced, turned: layout.minIsWhite }
  const decode = chunkDecoder(layout)
  const kept = new Map<number, Uint16Array>()
  const mostKept = Math.max(1, Math.floor(KEPT_BYTES / (chunkWidth * chunkHeight * 2)))

  /** Rows stored in the chunks of one line of chunks: tiles are padded, the last strip is short. */
  const rowsStored = (down: number): number =>
    layout.tiled ? chunkHeight : Math.min(chunkHeight, height - down * chunkHeight)

  const keptChunk = (chunk: number): Uint16Array => {
    let codes = kept.get(chunk)
    if (codes !== undefined) {
      // The map keeps its order of entry: put back, it is the newest.
      kept.delete(chunk)
    } else {
      if (kept.size >= mostKept) kept.delete(kept.keys().next().value!)
      const rows = rowsStored(Math.floor((chunk - firstChunk) / chunksAcross))
      const bytes = decode(file.read(layout.offsets[chunk]!, storedBytes(layout, chunk, rows)), chunk, rows)
      codes = new Uint16Array(chunkWidth * rows)
      unpackSamples(bytes, chunkWidth, rows, how, 0, chunkWidth, codes, 0, chunkWidth)
    }
    kept.set(chunk, codes)
    return codes
  }

  const readWindow = (rect: PixelRect): CodeWindow => {
    const codes = new Uint16Array(rect.width * rect.height)
    const lastRow = rect.row + rect.height
    const lastColumn = rect.column + rect.width
    for (let down = Math.floor(rect.row / chunkHeight); down * chunkHeight < lastRow; down++) {
      for (let across = Math.floor(rect.column / chunkWidth); across * chunkWidth < lastColumn; across++) {
        const from = keptChunk(firstChunk + down * chunksAcross + across)
        const top = Math.max(rect.row, down * chunkHeight)
        const bottom = Math.min(lastRow, (down + 1) * chunkHeight)
        const left = Math.max(rect.column, across * chunkWidth)
        const right = Math.min(lastColumn, (across + 1) * chunkWidth)
        for (let row = top; row < bottom; row++) {
          const at = (row - down * chunkHeight) * chunkWidth - across * chunkWidth
          codes.set(from.subarray(at + left, at + right), (row - rect.row) * rect.width + left - rect.column)
        }
      }
    }
    return { ...rect, codes }
  }

  const forEachBand = (visit: (band: CodeWindow) => void, from = 0, to = height): void => {
    const linesOfChunks = Math.max(1, Math.floor(BAND_BYTES / (width * 2 * chunkHeight)))
    const bandRows = Math.min(height, linesOfChunks * chunkHeight)
    const buffer = new Uint16Array(width * bandRows)
    const ahead = readAhead(file, layout, firstChunk, rowsStored)
    const lastDown = Math.min(chunksDown, Math.ceil(to / chunkHeight))
    for (let firstDown = from / chunkHeight; firstDown < lastDown; firstDown += linesOfChunks) {
      const row = firstDown * chunkHeight
      const rows = Math.min(bandRows, to - row)
      const endDown = Math.min(lastDown, firstDown + linesOfChunks)
      for (let down = firstDown; down < endDown; down++) {
        const stored = rowsStored(down)
        const wanted = Math.min(chunkHeight, height - down * chunkHeight)
        for (let across = 0; across < chunksAcross; across++) {
          const chunk = firstChunk + down * chunksAcross + across
          const bytes = decode(ahead(chunk), chunk, stored)
          const left = across * chunkWidth
          const columns = Math.min(chunkWidth, width - left)
          const at = (down * chunkHeight - row) * width + left
          unpackSamples(bytes, chunkWidth, wanted, how, 0, columns, buffer, at, width)
        }
      }
      const codes = rows === bandRows ? buffer : buffer.subarray(0, rows * width)
      visit({ column: 0, row, width, height: rows, codes })
    }
  }
  return { chunkRows: chunkHeight, readWindow, forEachBand }
}

/**
 * Bytes of a chunk worth reading. A plain one may be followed by padding. No compression here makes data more than
 * half as large again, so what a file claims beyond twice is not read, and cannot fill the memory.
 */
function storedBytes(layout: TiffLayout, chunk: number, rows: number): number {
  const plain = rows * layout.chunkWidth * layout.samples * (layout.bits / 8)
  return layout.compression === 'none' ? plain : Math.min(layout.counts[chunk]!, 2 * plain + 65_536)
}

/** Stored bytes of chunks asked for in order, neighbours read together. The bytes are valid until the next call. */
function readAhead(
  file: ScanFile,
  layout: TiffLayout,
  firstChunk: number,
  rowsStored: (down: number) => number,
): (chunk: number) => Uint8Array {
  const { offsets, chunksAcross, chunksDown } = layout
  const endChunk = firstChunk + chunksAcross * chunksDown
  const bytesOf = (chunk: number): number =>
    storedBytes(layout, chunk, rowsStored(Math.floor((chunk - firstChunk) / chunksAcross)))
  let buffer = new Uint8Array(0)
  let start = 0
  let end = 0
  return chunk => {
    const from = offsets[chunk]!
    const length = bytesOf(chunk)
    if (!(from >= start && from + length <= end)) {
      let until = from + length
      for (let next = chunk + 1; next < endChunk; next++) {
        const place = offsets[next]!
        const after = place + bytesOf(next)
        // Writers align strips to even bytes and more; a small gap is cheaper read than skipped.
        if (!(place >= until && place - until <= 4096 && after - from <= READ_BYTES)) break
        until = after
      }
      if (buffer.length < until - from) buffer = new Uint8Array(Math.max(until - from, Math.min(READ_BYTES, file.size)))
      file.readInto(buffer, 0, until - from, from)
      start = from
      end = until
    }
    return buffer.subarray(from - start, from - start + length)
  }
}

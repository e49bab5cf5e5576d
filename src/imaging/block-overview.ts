import { pixelLoops } from '../kernels/pixel-loops.js'
import type { BlockOverview } from '../model/block-overview.js'
import type { OpenScan } from '../model/scan.js'

export type { BlockOverview } from '../model/block-overview.js'

/**
 * Block means of light and extremes of code.
 * @param blockPx side of a block in pixels, 1 or more
 * @param table light for every code, 65536 entries (see `LightScale.transmittance`); sums are float64
 */
export function blockOverview(scan: OpenScan, blockPx: number, table: Float32Array): BlockOverview {
  if (!(Number.isInteger(blockPx) && blockPx >= 1))
    throw new RangeError(`blockPx must be a whole number of pixels, 1 or more; got ${blockPx}`)
  if (table.length !== 65536) throw new RangeError(`table must have 65536 entries; got ${table.length}`)
  const { width, height } = scan.header
  const columns = Math.ceil(width / blockPx)
  const rows = Math.ceil(height / blockPx)
  // Shared, so that another thread gets them without a copy.
  const light = new Float32Array(new SharedArrayBuffer(4 * columns * rows))
  const least = new Uint16Array(new SharedArrayBuffer(2 * columns * rows)).fill(65535)
  const greatest = new Uint16Array(new SharedArrayBuffer(2 * columns * rows))
  let clipped = 0
  const row = blockRow(width, blockPx, table)

  scan.forEachBand(band => {
    for (let r = 0; r < band.height; ) {
      const at = band.row + r
      const blockRow = Math.floor(at / blockPx)
      const rows = Math.min(band.height - r, row.mostRows, (blockRow + 1) * blockPx - at)
      row.add(band.codes.subarray(r * width, (r + rows) * width), rows)
      r += rows
      const done = at + rows
      if (done % blockPx !== 0 && done !== height) continue
      const first = blockRow * columns
      least.set(row.least, first)
      greatest.set(row.greatest, first)
      const pixelRows = done - blockRow * blockPx
      for (let b = 0; b < columns; b++)
        light[first + b] = row.sums[b]! / (Math.min(blockPx, width - b * blockPx) * pixelRows)
      row.clear()
    }
  })
  // Blocks, not pixels: a pixel count would cost a compare for every pixel of the page.
  for (let i = 0; i < greatest.length; i++) if (greatest[i] === 65535) clipped++
  return {
    blockPx,
    columns,
    rows,
    scanWidth: width,
    scanHeight: height,
    light,
    least,
    greatest,
    clippedShare: clipped / greatest.length,
  }
}

/** Codes are handed over in pieces of about so many bytes, which the processor keeps near from the copy to the sum. */
const PIECE_BYTES = 256 << 10

/** Sums and extremes of one row of blocks, gathered by the compiled loop in a memory of its own. */
function blockRow(width: number, blockPx: number, table: Float32Array) {
  const columns = Math.ceil(width / blockPx)
  const mostRows = Math.max(1, Math.floor(PIECE_BYTES / (2 * width)))
  const sumsAt = 4 * 65536
  const leastAt = sumsAt + 8 * columns
  const greatestAt = leastAt + 2 * columns
  const codesAt = greatestAt + 2 * columns
  const { memory, addRows } = pixelLoops(codesAt + 2 * width * mostRows)
  new Float32Array(memory, 0, 65536).set(table)
  const sums = new Float64Array(memory, sumsAt, columns)
  const least = new Uint16Array(memory, leastAt, columns).fill(65535)
  const greatest = new Uint16Array(memory, greatestAt, columns)
  const codes = new Uint16Array(memory, codesAt, width * mostRows)
  return {
    mostRows,
    sums,
    least,
    greatest,
    add(rowsOfCodes: Uint16Array, rows: number): void {
      codes.set(rowsOfCodes)
      addRows(codesAt, width, rows, blockPx, 0, sumsAt, leastAt, greatestAt)
    },
    clear(): void {
      sums.fill(0)
      least.fill(65535)
      greatest.fill(0)
    },
  }
}

/** Centre of a block on the scan, pixels. */
export function blockCentre(overview: { readonly blockPx: number }, index: number): number {
  return (index + 0.5) * overview.blockPx - 0.5
}

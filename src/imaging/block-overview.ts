import type { OpenScan } from '../model/scan.js'

/**
 * A scan reduced to square blocks, made in one pass over its bands.
 * Arrays are `rows x columns`, row by row. Edge blocks may be partial; their means are over the pixels they have.
 */
export interface BlockOverview {
  readonly blockPx: number
  readonly columns: number
  readonly rows: number
  readonly scanWidth: number
  readonly scanHeight: number
  /** Mean light of each block: mean over its pixels of `table[code]`. */
  readonly light: Float32Array
  /** Least and greatest code of each block. */
  readonly least: Uint16Array
  readonly greatest: Uint16Array
  /** Share of blocks that hold a pixel at full scale (65535). */
  readonly clippedShare: number
}

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
  const light = new Float32Array(columns * rows)
  const least = new Uint16Array(columns * rows).fill(65535)
  const greatest = new Uint16Array(columns * rows)
  const sums = new Float64Array(columns)
  let clipped = 0

  const finishBlockRow = (blockRow: number, pixelRows: number): void => {
    for (let b = 0; b < columns; b++) {
      const pixelColumns = Math.min(blockPx, width - b * blockPx)
      light[blockRow * columns + b] = sums[b]! / (pixelColumns * pixelRows)
      sums[b] = 0
    }
  }

  scan.forEachBand(band => {
    const { codes } = band
    for (let r = 0; r < band.height; r++) {
      const row = band.row + r
      const blockRow = Math.floor(row / blockPx)
      const into = blockRow * columns
      let at = r * width
      for (let b = 0; b < columns; b++) {
        const end = Math.min(at + blockPx, (r + 1) * width)
        // The extremes are taken on codes and the sum on light in one loop: the codes are in the cache but once.
        let sum = 0
        let low = least[into + b]!
        let high = greatest[into + b]!
        for (; at < end; at++) {
          const code = codes[at]!
          sum += table[code]!
          if (code < low) low = code
          if (code > high) high = code
        }
        sums[b]! += sum
        least[into + b] = low
        greatest[into + b] = high
      }
      if ((row + 1) % blockPx === 0 || row + 1 === height) finishBlockRow(blockRow, (row % blockPx) + 1)
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

/** Centre of a block on the scan, pixels. */
export function blockCentre(overview: { readonly blockPx: number }, index: number): number {
  return (index + 0.5) * overview.blockPx - 0.5
}

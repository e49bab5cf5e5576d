import type { OpenScan } from '../model/scan.js'

/** The page in little, and what only a look at every pixel can tell. */
export interface PageSurvey {
  /** Side of a block, px. */
  readonly blockPx: number
  /** Whole blocks across and down; the cut-off strip at the right and lower rim is left out. */
  readonly columns: number
  readonly rows: number
  /** Mean code of each block, row by row. */
  readonly means: Float32Array
  /** Share of each block's pixels at 65535. */
  readonly fullShare: Float32Array
  /** How many different codes the whole page holds. */
  readonly distinctCodes: number
}

/**
 * One pass over the page: block means, clipped share a block, and the number of different codes.
 * @param blockPx side of a block in px, a whole number of 1 or more
 * @throws RangeError when the page is smaller than one block
 */
export function pageSurvey(scan: OpenScan, blockPx: number): PageSurvey {
  if (!Number.isInteger(blockPx) || !(blockPx >= 1))
    throw new RangeError(`blockPx must be a whole number of 1 or more; got ${blockPx}`)
  const { width, height } = scan.header
  const columns = Math.floor(width / blockPx)
  const rows = Math.floor(height / blockPx)
  if (!(columns >= 1 && rows >= 1)) throw new RangeError(`the page of ${width} x ${height} px is below one block`)
  const sums = new Float64Array(columns * rows)
  const full = new Float64Array(columns * rows)
  const seen = new Uint8Array(65536)
  scan.forEachBand(band => {
    const { codes } = band
    for (let r = 0; r < band.height; r++) {
      const blockRow = Math.floor((band.row + r) / blockPx)
      const start = r * band.width
      for (let c = 0; c < band.width; c++) seen[codes[start + c]!] = 1
      if (blockRow >= rows) continue
      let at = start
      for (let b = 0; b < columns; b++) {
        let sum = 0
        let high = 0
        for (let k = 0; k < blockPx; k++) {
          const code = codes[at++]!
          sum += code
          if (code === 65535) high++
        }
        sums[blockRow * columns + b]! += sum
        full[blockRow * columns + b]! += high
      }
    }
  })
  const area = blockPx * blockPx
  let distinctCodes = 0
  for (let code = 0; code < 65536; code++) distinctCodes += seen[code]!
  return {
    blockPx,
    columns,
    rows,
    means: Float32Array.from(sums, sum => sum / area),
    fullShare: Float32Array.from(full, count => count / area),
    distinctCodes,
  }
}

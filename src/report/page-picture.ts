import type { Picture } from '../model/measured.js'
import { greyPng } from './grey-png.js'
import { toneCurve } from './tone-curve.js'

/** The whole page as block means of light, row by row. */
export interface PageOverview {
  readonly columns: number
  readonly rows: number
  /** Mean transmittance of each block; `columns * rows` of them. */
  readonly transmittance: Float32Array
  /** Side of a block in scan pixels. */
  readonly blockPx: number
  readonly scanWidth: number
  readonly scanHeight: number
}

/** Longest side of the page picture. Larger ones swell the report and show no more on a screen or on A4. */
const LONGEST_SIDE = 1000

/**
 * The page as an 8-bit grey PNG for the report, in scan orientation, at most 1000 px on its long side.
 * Blocks are averaged as light, then toned.
 * @throws RangeError when the overview's length is not columns x rows.
 */
export function pagePicture(overview: PageOverview): Picture {
  const { columns, rows, transmittance } = overview
  if (!(columns >= 1 && rows >= 1) || transmittance.length !== columns * rows)
    throw new RangeError(`overview must hold ${columns} x ${rows} block means; got ${transmittance.length}`)
  const factor = Math.ceil(Math.max(columns, rows) / LONGEST_SIDE)
  const width = Math.ceil(columns / factor)
  const height = Math.ceil(rows / factor)
  const grey = Buffer.alloc(width * height)
  for (let row = 0; row < height; row++) {
    for (let column = 0; column < width; column++) {
      const lastRow = Math.min(rows, (row + 1) * factor)
      const lastColumn = Math.min(columns, (column + 1) * factor)
      let sum = 0
      let count = 0
      for (let r = row * factor; r < lastRow; r++) {
        for (let c = column * factor; c < lastColumn; c++) {
          sum += transmittance[r * columns + c]!
          count++
        }
      }
      grey[row * width + column] = toneCurve(sum / count)
    }
  }
  const png = greyPng(grey, width, height)
  return {
    id: 'page',
    caption: 'The page as scanned',
    pngBase64: png.toString('base64'),
    width,
    height,
    rect: { column: 0, row: 0, width: overview.scanWidth, height: overview.scanHeight },
  }
}

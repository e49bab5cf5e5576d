import type { PixelRect } from '../model/geometry.js'
import type { DensityScan } from '../model/light.js'
import type { Picture } from '../model/measured.js'
import { greyPng } from './grey-png.js'
import { toneCurve } from './tone-curve.js'

/** Side a crop is brought to: legible on a phone, small in the file. */
const SIDE = 360

/**
 * One place of the scan as an 8-bit grey PNG of about 360 px on its long side, toned as the page picture is.
 * Large windows are averaged as light; small ones are enlarged by whole pixels, unsmoothed, so that what is seen
 * is what was scanned. `rect` is cut to the page.
 * @throws RangeError when nothing of `rect` lies on the page.
 */
export function cropPicture(scan: DensityScan, rect: PixelRect, id: string, caption: string): Picture {
  const window = cutToPage(rect, scan.scan.header.width, scan.scan.header.height)
  const longest = Math.max(window.width, window.height)
  const factor = Math.max(1, Math.ceil(longest / SIDE))
  const width = Math.ceil(window.width / factor)
  const height = Math.ceil(window.height / factor)
  const grey = Buffer.alloc(width * height)
  const table = scan.light.transmittance
  for (let row = 0; row < height; row++) {
    const firstRow = row * factor
    const bandHeight = Math.min(factor, window.height - firstRow)
    const band = scan.scan.readWindow({
      column: window.column,
      row: window.row + firstRow,
      width: window.width,
      height: bandHeight,
    })
    for (let column = 0; column < width; column++) {
      const lastColumn = Math.min(window.width, (column + 1) * factor)
      let sum = 0
      let count = 0
      for (let r = 0; r < bandHeight; r++) {
        for (let c = column * factor; c < lastColumn; c++) {
          sum += table[band.codes[r * window.width + c]!]!
          count++
        }
      }
      grey[row * width + column] = toneCurve(sum / count)
    }
  }
  const enlarge = Math.max(1, Math.floor(SIDE / Math.max(width, height)))
  const png = greyPng(grey, width, height, enlarge)
  return {
    id,
    caption,
    pngBase64: png.toString('base64'),
    width: width * enlarge,
    height: height * enlarge,
    rect: window,
  }
}

function cutToPage(rect: PixelRect, pageWidth: number, pageHeight: number): PixelRect {
  const column = Math.max(0, Math.floor(rect.column))
  const row = Math.max(0, Math.floor(rect.row))
  const width = Math.min(pageWidth, Math.ceil(rect.column + rect.width)) - column
  const height = Math.min(pageHeight, Math.ceil(rect.row + rect.height)) - row
  if (!(width >= 1 && height >= 1))
    throw new RangeError(
      `crop must lie on the ${pageWidth} x ${pageHeight} page; got column ${rect.column}, row ${rect.row}, ${rect.width} x ${rect.height}`,
    )
  return { column, row, width, height }
}

import type { ArtworkMap } from '../model/artwork.js'
import type { PixelRect } from '../model/geometry.js'
import type { Picture } from '../model/measured.js'
import { greyPng } from './grey-png.js'
import type { PageOverview } from './page-picture.js'
import { toneCurve } from './tone-curve.js'

/** Longest side: beside the page picture, not instead of it. */
const LONGEST_SIDE = 720
/** The film is shown this pale, so that the artwork's outline stands out in print too. */
const PALE = 0.45

/** Share of ink of the artwork at a place of it, mm. */
export type InkOfArtwork = (x: number, y: number) => number

/**
 * The film in pale grey with the artwork's outlines over it in black, as an 8-bit grey PNG: where both agree a black line runs along
 * every edge, ink without a line was added, a line without ink is missing.
 * @param map artwork mm to scan pixels
 * @param marks places to be framed, scan pixels
 */
export function artworkPicture(
  page: PageOverview,
  map: ArtworkMap,
  ink: InkOfArtwork,
  marks: readonly PixelRect[] = [],
): Picture {
  const { columns, rows, transmittance, blockPx } = page
  const factor = Math.max(1, Math.ceil(Math.max(columns, rows) / LONGEST_SIDE))
  const width = Math.ceil(columns / factor)
  const height = Math.ceil(rows / factor)
  const determinant = map.xx * map.yy - map.xy * map.yx
  const black = new Uint8Array(width * height)
  const grey = Buffer.alloc(width * height)
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++) {
      let sum = 0
      let count = 0
      for (let y = r * factor; y < Math.min(rows, (r + 1) * factor); y++)
        for (let x = c * factor; x < Math.min(columns, (c + 1) * factor); x++) {
          sum += transmittance[y * columns + x]!
          count++
        }
      grey[r * width + c] = Math.round(255 - PALE * (255 - toneCurve(sum / count)))
      const dx = (c + 0.5) * factor * blockPx - 0.5 - map.x0
      const dy = (r + 0.5) * factor * blockPx - 0.5 - map.y0
      const share = ink((map.yy * dx - map.xy * dy) / determinant, (map.xx * dy - map.yx * dx) / determinant)
      black[r * width + c] = share > 0.5 ? 1 : 0
    }
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++) {
      const i = r * width + c
      if (black[i] === 0) continue
      const inside = c > 0 && r > 0 && c + 1 < width && r + 1 < height
      if (!inside || black[i - 1]! + black[i + 1]! + black[i - width]! + black[i + width]! < 4) grey[i] = 0
    }
  for (const mark of marks) frame(grey, width, height, mark, factor * blockPx)
  const png = greyPng(grey, width, height)
  return {
    id: 'artwork',
    caption: 'The artwork’s outlines over the film',
    pngBase64: png.toString('base64'),
    width,
    height,
    rect: { column: 0, row: 0, width: page.scanWidth, height: page.scanHeight },
  }
}

/** A frame stands off its place by this much, and no frame is smaller, pixels of the picture. */
const STAND_OFF = 4

/** A double frame, white in black, so that it shows on ink and on clear film. */
function frame(
  grey: Buffer,
  width: number,
  height: number,
  { column, row, width: wide, height: high }: PixelRect,
  scale: number,
): void {
  for (let line = 0; line < 4; line++) {
    const off = STAND_OFF + line
    const left = Math.floor(column / scale) - off
    const top = Math.floor(row / scale) - off
    const right = Math.ceil((column + wide) / scale) + off
    const bottom = Math.ceil((row + high) / scale) + off
    const tone = line < 2 ? 255 : 0
    const paint = (c: number, r: number) => {
      if (c >= 0 && r >= 0 && c < width && r < height) grey[r * width + c] = tone
    }
    for (let c = left; c <= right; c++) {
      paint(c, top)
      paint(c, bottom)
    }
    for (let r = top; r <= bottom; r++) {
      paint(left, r)
      paint(right, r)
    }
  }
}

import type { DensityScan } from '../model/light.js'
import type { Picture } from '../model/measured.js'
import type { LaidStrip } from '../model/strip.js'
import { greyPng } from './grey-png.js'
import { toneCurve } from './tone-curve.js'

/** Width the strip is brought to, px: legible on a phone, small in the file. */
const WIDTH = 1000
/** Looked up so many times a pixel each way, so that tints stay even. */
const SAMPLES = 3

/** The control strip upright and right-reading, however it lay, as an 8-bit grey PNG toned as the page picture is. */
export function stripPicture(scan: DensityScan, { map, corners }: LaidStrip): Picture {
  const columns = corners.map(corner => corner.column)
  const rows = corners.map(corner => corner.row)
  const { width: pageWidth, height: pageHeight } = scan.scan.header
  const left = Math.max(0, Math.floor(Math.min(...columns)))
  const top = Math.max(0, Math.floor(Math.min(...rows)))
  const right = Math.min(pageWidth - 1, Math.ceil(Math.max(...columns)))
  const bottom = Math.min(pageHeight - 1, Math.ceil(Math.max(...rows)))
  const [a, b, , d] = corners as readonly [(typeof corners)[number], ...(typeof corners)[number][]]
  // Size of the strip, mm, from its corners and the map.
  const length = Math.hypot(b!.column - a.column, b!.row - a.row) / Math.hypot(map.xx, map.yx)
  const across = Math.hypot(d!.column - a.column, d!.row - a.row) / Math.hypot(map.xy, map.yy)
  const step = length / WIDTH
  const height = Math.max(1, Math.round(across / step))
  const grey = Buffer.alloc(WIDTH * height, toneCurve(1))
  const table = scan.light.transmittance
  for (let r = 0; r < height; r++) {
    // The rows of the scan that this row of the picture needs.
    const ends = [0, length].flatMap(x => [0, 1].map(k => map.y0 + map.yx * x + map.yy * (r + k) * step))
    const first = Math.max(top, Math.floor(Math.min(...ends)))
    const last = Math.min(bottom, Math.ceil(Math.max(...ends)))
    if (!(last > first && right > left)) continue
    const band = scan.scan.readWindow({ column: left, row: first, width: right - left + 1, height: last - first + 1 })
    for (let c = 0; c < WIDTH; c++) {
      let sum = 0
      let n = 0
      for (let i = 0; i < SAMPLES; i++)
        for (let j = 0; j < SAMPLES; j++) {
          const x = (c + (j + 0.5) / SAMPLES) * step
          const y = (r + (i + 0.5) / SAMPLES) * step
          const column = Math.round(map.x0 + map.xx * x + map.xy * y)
          const row = Math.round(map.y0 + map.yx * x + map.yy * y)
          if (column < left || column > right || row < first || row > last) continue
          sum += table[band.codes[(row - first) * band.width + column - left]!]!
          n++
        }
      if (n > 0) grey[r * WIDTH + c] = toneCurve(sum / n)
    }
  }
  const png = greyPng(grey, WIDTH, height)
  return {
    id: 'strip',
    caption: 'The control strip, turned upright',
    pngBase64: png.toString('base64'),
    width: WIDTH,
    height,
    rect: { column: left, row: top, width: right - left + 1, height: bottom - top + 1 },
  }
}

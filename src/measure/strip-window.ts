import { mapped, type PlaneMap } from '../imaging/fit-plane-map.js'
import type { DensityScan } from '../model/light.js'
import type { StripRect } from '../model/strip.js'
import { filmTable } from './measured-edge.js'

/** The pixels of one field of a strip: light of the film, and where each pixel lies on the strip, mm from the field's middle. */
export interface StripWindow {
  readonly light: Float32Array
  readonly x: Float32Array
  readonly y: Float32Array
}

/** Pixels whose middles lie in a rectangle of the strip, flare taken out; null when it is not wholly on the scan. */
export function stripWindow(scan: DensityScan, map: PlaneMap, rect: StripRect): StripWindow | null {
  const corners = [
    mapped(map, rect.x, rect.y),
    mapped(map, rect.x + rect.width, rect.y),
    mapped(map, rect.x, rect.y + rect.height),
    mapped(map, rect.x + rect.width, rect.y + rect.height),
  ]
  const left = Math.ceil(Math.min(...corners.map(c => c.x)))
  const right = Math.floor(Math.max(...corners.map(c => c.x)))
  const top = Math.ceil(Math.min(...corners.map(c => c.y)))
  const bottom = Math.floor(Math.max(...corners.map(c => c.y)))
  const { width: pageWidth, height: pageHeight } = scan.scan.header
  if (!(left >= 0 && top >= 0 && right < pageWidth && bottom < pageHeight && right > left && bottom > top)) return null
  const width = right - left + 1
  const { codes } = scan.scan.readWindow({ column: left, row: top, width, height: bottom - top + 1 })
  const point = (c: { x: number; y: number }) => ({ column: c.x, row: c.y })
  const table = filmTable(scan, { from: point(corners[0]!), to: point(corners[3]!) })
  const determinant = map.xx * map.yy - map.xy * map.yx
  const light = new Float32Array(codes.length)
  const xs = new Float32Array(codes.length)
  const ys = new Float32Array(codes.length)
  const middleX = rect.x + rect.width / 2
  const middleY = rect.y + rect.height / 2
  let count = 0
  for (let i = 0; i < codes.length; i++) {
    const px = left + (i % width) - map.x0
    const py = top + Math.floor(i / width) - map.y0
    const x = (map.yy * px - map.xy * py) / determinant - middleX
    const y = (map.xx * py - map.yx * px) / determinant - middleY
    if (!(Math.abs(x) <= rect.width / 2 && Math.abs(y) <= rect.height / 2)) continue
    light[count] = table[codes[i]!]!
    xs[count] = x
    ys[count] = y
    count++
  }
  return { light: light.subarray(0, count), x: xs.subarray(0, count), y: ys.subarray(0, count) }
}

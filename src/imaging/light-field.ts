import type { PixelRect } from '../model/geometry.js'
import type { OpenScan } from '../model/scan.js'

/** Light of a scan by window: what the edge and patch mathematics reads from. */
export interface LightField {
  readonly width: number
  readonly height: number
  readonly umPerPixel: { readonly across: number; readonly along: number }
  /** Light of each pixel of the window, row by row, `width * height` values. */
  read(rect: PixelRect): Float32Array
}

/** A light field over a scan through a table of 65536 light values. */
export function lightField(
  scan: OpenScan,
  table: Float32Array,
  umPerPixel: { readonly across: number; readonly along: number },
): LightField {
  return {
    width: scan.header.width,
    height: scan.header.height,
    umPerPixel,
    read(rect) {
      const { codes } = scan.readWindow(rect)
      const light = new Float32Array(codes.length)
      for (let i = 0; i < codes.length; i++) light[i] = table[codes[i]!]!
      return light
    },
  }
}

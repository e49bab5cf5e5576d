import type { PixelRect } from '../model/geometry.js'
import type { DensityScan } from '../model/light.js'
import type { Picture } from '../model/measured.js'
import { greyPng } from './grey-png.js'

/** Pixels of the picture at most: a 600 dpi scan of 4 mm. Finer scans are averaged as light. */
const SIDE = 96

/** Density shown as black: full black of a positive, where the trade's aim lies. */
export const BLACKEST_DENSITY = 4.2

/**
 * Grey for a density: 255 for none, 0 at D 4.2, even in between, so that 2.8 and 4.0 look as different as 0 and 1.2. On a light
 * table both are black.
 */
export function densityGrey(density: number): number {
  const share = Math.min(1, Math.max(0, density / BLACKEST_DENSITY))
  return Math.round(255 * (1 - share))
}

/**
 * One place of the scan toned by density: light is averaged first, then its density made grey. Nothing is shown
 * deeper than the scanner tells. Windows of equal size in um come out at equal scale. For looking at, never measured.
 * @throws RangeError when the window does not lie on the page
 */
export function densityPicture(scan: DensityScan, rect: PixelRect, id: string, caption: string): Picture {
  const { codes } = scan.scan.readWindow(rect)
  const side = Math.max(1, Math.min(SIDE, rect.width, rect.height))
  const table = scan.light.transmittance
  const deepest = scan.light.deepest ?? BLACKEST_DENSITY
  const grey = Buffer.alloc(side * side)
  const edge = (i: number, size: number) => Math.floor((i * size) / side)
  for (let row = 0; row < side; row++)
    for (let column = 0; column < side; column++) {
      let sum = 0
      let count = 0
      for (let r = edge(row, rect.height); r < edge(row + 1, rect.height); r++)
        for (let c = edge(column, rect.width); c < edge(column + 1, rect.width); c++) {
          sum += table[codes[r * rect.width + c]!]!
          count++
        }
      const light = sum / count
      grey[row * side + column] = densityGrey(light > 0 ? Math.min(deepest, -Math.log10(light)) : deepest)
    }
  const enlarge = Math.max(1, Math.floor(SIDE / side))
  const png = greyPng(grey, side, side, enlarge)
  return { id, caption, pngBase64: png.toString('base64'), width: side * enlarge, height: side * enlarge, rect }
}

import { blockCentre } from '../imaging/block-overview.js'
import { mapped } from '../imaging/fit-plane-map.js'
import { stripLayout } from '../strip/strip-layout.js'
import type { LocatedScan } from './locate-scan.js'

/** Fields that are fine on purpose: their dots, gaps and letters are no flaws. Solids, marks and clear film of a strip are film as any other. */
const FINE = ['code', 'line', 'hairs', 'tint', 'text']
/** Ink spreads, and a strip is known to half a printer pixel here, mm. */
const AROUND_MM = 0.4

/**
 * Marks the blocks of the overview that lie on a control strip's fine fields.
 * @param marks rows x columns of the overview: set to 1 there, left as it is elsewhere
 */
export function markStripFields(
  { strips, overview }: Pick<LocatedScan, 'strips' | 'overview'>,
  marks: Uint8Array,
): void {
  const { columns, rows, blockPx } = overview
  for (const { form, map } of strips) {
    const determinant = map.xx * map.yy - map.xy * map.yx
    for (const field of stripLayout(form, 'head', null).fields) {
      if (!FINE.includes(field.kind)) continue
      const { x, y, width, height } = field.kind === 'line' ? field.plate : field.rect
      const left = x - AROUND_MM
      const top = y - AROUND_MM
      const right = x + width + AROUND_MM
      const bottom = y + height + AROUND_MM
      const corners = [
        mapped(map, left, top),
        mapped(map, right, top),
        mapped(map, left, bottom),
        mapped(map, right, bottom),
      ]
      const block = (at: number, most: number) => Math.min(most - 1, Math.max(0, Math.floor((at + 0.5) / blockPx)))
      const firstColumn = block(Math.min(...corners.map(c => c.x)), columns)
      const lastColumn = block(Math.max(...corners.map(c => c.x)), columns)
      const lastRow = block(Math.max(...corners.map(c => c.y)), rows)
      for (let r = block(Math.min(...corners.map(c => c.y)), rows); r <= lastRow; r++)
        for (let c = firstColumn; c <= lastColumn; c++) {
          const px = blockCentre(overview, c) - map.x0
          const py = blockCentre(overview, r) - map.y0
          const sx = (map.yy * px - map.xy * py) / determinant
          const sy = (map.xx * py - map.yx * px) / determinant
          if (sx > left && sx < right && sy > top && sy < bottom) marks[r * columns + c] = 1
        }
    }
  }
}

import { type LightField, lightField } from '../imaging/light-field.js'
import { filmTable } from '../measure/measured-edge.js'
import type { DensityScan } from '../model/light.js'

/** Light of the film near a place (um on the scan): flare is even over a stroke's width and is taken out of every pixel alike. */
export function filmLightAt(scan: DensityScan, x: number, y: number): LightField {
  const place = { column: x / scan.umPerPixel.across, row: y / scan.umPerPixel.along }
  return lightField(scan.scan, filmTable(scan, { from: place, to: place }), scan.umPerPixel)
}

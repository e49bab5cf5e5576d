import { mappedArea } from '../imaging/mapped-area.js'
import type { DensityScan } from '../model/light.js'
import type { SolidArea } from '../model/located.js'
import type { LaidStrip, StripLayout } from '../model/strip.js'

/** Clear of a field's edges by this much, mm: three sigma of bleed and optics (as patches are). */
const MARGIN_MM = 0.3
/** Less of a field in view tells no bands, mm. */
const LEAST_LENGTH_MM = 4

/**
 * The control strip's own solids for banding, its long rail first: the layout says where they lie and which way the film was fed. What of them lies outside
 * the scan is cut off.
 */
export function stripSolids(scan: DensityScan, { identity, map }: LaidStrip, layout: StripLayout): SolidArea[] {
  return (['rail', 'solid'] as const).flatMap(kind =>
    layout.fields
      .filter(field => field.kind === kind)
      .flatMap((field, i): SolidArea[] => {
        const area = mappedArea(field.rect, map, scan, MARGIN_MM, LEAST_LENGTH_MM)
        if (area === null) return []
        const { xIsFirst, ...place } = area
        const feed = (identity.laid === 'feed') === xIsFirst ? 'first' : 'second'
        return [{ id: `strip-${kind === 'rail' ? 'rail' : 'area'}-${i + 1}`, ...place, feed }]
      }),
  )
}

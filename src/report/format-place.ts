import { MM_PER_INCH, type PixelPoint } from '../model/geometry.js'
import type { SiteSettings } from '../model/site.js'

/** A place on the scan, counted from its top left corner, in the site's unit of length. */
export function formatPlace(
  place: PixelPoint,
  dpi: { readonly across: number; readonly along: number },
  unit: SiteSettings['lengthUnit'],
): string {
  const across = formatLength(((place.column + 0.5) / dpi.across) * MM_PER_INCH, unit)
  const down = formatLength(((place.row + 0.5) / dpi.along) * MM_PER_INCH, unit)
  return `${across} from the left, ${down} from the top`
}

/** A length given in mm, written to 0.1 mm or 0.01 in. */
export function formatLength(mm: number, unit: SiteSettings['lengthUnit']): string {
  return unit === 'inch' ? `${(mm / MM_PER_INCH).toFixed(2)}\u00a0in` : `${mm.toFixed(1)}\u00a0mm`
}

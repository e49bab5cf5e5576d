import type { Dpi } from '../model/geometry.js'
import type { TiffDirectory } from './read-directories.js'

/** What a file says of how it was made. Nothing is guessed. */
export interface ScanTags {
  readonly dpi: Dpi | null
  readonly maker: string | null
  readonly model: string | null
  /** ISO 8601 without zone. */
  readonly taggedAt: string | null
  readonly warnings: readonly string[]
}

const TAG = { maker: 271, model: 272, xResolution: 282, yResolution: 283, unit: 296, dateTime: 306 } as const
const CM_PER_INCH = 2.54
/** Outside of these a resolution is a mistake, dpi. The bounds are the project's own. */
const LEAST_DPI = 10
const MOST_DPI = 20_000

/** Resolution, maker, model and date of a TIFF directory (TIFF 6.0, section 8). Unreadable tags count as absent. */
export function scanTags(directory: TiffDirectory): ScanTags {
  const warnings: string[] = []
  const number = (tag: number): number | null => {
    try {
      return directory.numbers(tag, 16)?.[0] ?? null
    } catch {
      // A broken tag that no pixel depends on must not lose the scan.
      return null
    }
  }
  const x = number(TAG.xResolution)
  const y = number(TAG.yResolution)
  // The standard's default when the unit is absent is the inch.
  const unit = number(TAG.unit) ?? 2
  let dpi: Dpi | null = null
  if ((x !== null || y !== null) && (unit === 2 || unit === 3)) {
    const perInch = unit === 3 ? CM_PER_INCH : 1
    if (x === null || y === null) warnings.push('The file gives its resolution in one direction only; it was not used.')
    else dpi = plausibleDpi(x * perInch, y * perInch, warnings)
  }
  const dated = directory.text(TAG.dateTime)
  return {
    dpi,
    maker: directory.text(TAG.maker),
    model: directory.text(TAG.model),
    taggedAt: dated === null ? null : isoTime(dated),
    warnings,
  }
}

/** The resolution, or null and a sentence in `warnings` when it cannot be right (0, negative, not a number, below 10 or above 20 000 dpi). */
export function plausibleDpi(across: number, along: number, warnings: string[]): Dpi | null {
  const right = (dpi: number): boolean => dpi >= LEAST_DPI && dpi <= MOST_DPI
  if (right(across) && right(along)) return { across, along }
  warnings.push(
    `The file gives a resolution of ${across} x ${along} dpi, which cannot be right (${LEAST_DPI} to ${MOST_DPI}); it was not used.`,
  )
  return null
}

/** `YYYY:MM:DD HH:MM:SS` as ISO 8601 without zone; null when it is no date. */
function isoTime(text: string): string | null {
  const match = /^(\d{4})[:-](\d{2})[:-](\d{2})[ T](\d{2}):(\d{2}):(\d{2})$/.exec(text)
  if (match === null) return null
  const iso = `${match[1]}-${match[2]}-${match[3]}T${match[4]}:${match[5]}:${match[6]}`
  // Read as universal time, a date that does not exist (month 13, 31 April) comes back as another or not at all.
  const read = new Date(`${iso}Z`)
  return Number.isFinite(read.getTime()) && read.toISOString().startsWith(iso) ? iso : null
}

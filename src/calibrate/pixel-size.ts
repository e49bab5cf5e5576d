import type { ScannerScale } from '../model/artwork.js'
import type { Calibration, Expanded } from '../model/calibration.js'
import type { Dpi } from '../model/geometry.js'
import { UM_PER_INCH } from '../model/geometry.js'
import { ProblemError } from '../model/problem.js'
import type { OpenScan } from '../model/scan.js'
import { gridScale } from './grid-scale.js'
import { lightScale } from './light-scale.js'

/** Resolutions this near to each other are one setting. */
const SAME_DPI = 0.02

/** Length of a pixel, and where it comes from in a sentence; `note` is null when only the resolution says it. */
export interface PixelSize {
  readonly umPerPixel: { readonly across: number; readonly along: number }
  readonly note: string | null
}

/**
 * Length of a pixel: as measured on a grid, when the calibration has that for this resolution, else as the resolution says.
 * @param calibration null when the scanner has none
 */
export function pixelSize(calibration: Calibration | null, dpi: Dpi): PixelSize {
  const said = { across: UM_PER_INCH / dpi.across, along: UM_PER_INCH / dpi.along }
  const size = calibration?.size ?? null
  if (size === null) return { umPerPixel: said, note: null }
  if (!same(size.dpi, dpi))
    return {
      umPerPixel: said,
      note: `The size of the scanner’s pixels was measured at ${size.dpi.across} dpi, not at this scan’s ${dpi.across}: lengths are taken from the resolution.`,
    }
  const umPerPixel = { across: said.across * size.across.value, along: said.along * size.along.value }
  return {
    umPerPixel,
    note: `Lengths use the pixel size measured on a grid of ${size.pitchMm} mm pitch: ${umPerPixel.across.toFixed(3)} um across and ${umPerPixel.along.toFixed(3)} um along, which is ${percent(size.across)} and ${percent(size.along)} off what ${dpi.across} dpi says.`,
  }
}

/** Flatbeds are up to 0.3 % off the resolution they write (rectangular, so this over the root of 3); common practice, no source. */
const RESOLUTION_STANDARD = 0.003 / Math.sqrt(3)

/** How well the length of a pixel is known, standard uncertainty as a share: by the grid, or by what the resolution of flatbeds is worth. */
export function scannerScale(calibration: Calibration | null, dpi: Dpi): ScannerScale {
  const size = calibration?.size ?? null
  if (size === null || !same(size.dpi, dpi))
    return { across: RESOLUTION_STANDARD, along: RESOLUTION_STANDARD, from: 'resolution' }
  return { across: size.across.expanded / 2, along: size.along.expanded / 2, from: 'grid' }
}

/** `+0.300 ± 0.004 %` */
function percent({ value, expanded }: Expanded): string {
  const off = 100 * (value - 1)
  return `${off < 0 ? '−' : '+'}${Math.abs(off).toFixed(3)} ± ${(100 * expanded).toFixed(3)} %`
}

function same(a: Dpi, b: Dpi): boolean {
  return Math.abs(a.across / b.across - 1) <= SAME_DPI && Math.abs(a.along / b.along - 1) <= SAME_DPI
}

/** A scan of a grid of known pitch. */
export interface GridScan {
  readonly scan: OpenScan
  readonly sha256: string
  readonly pitchMm: number
}

/**
 * The calibration with the pixel size seen on a grid scan, made light by the calibration itself.
 * @param told resolution that wins over the file's
 * @throws ProblemError GRID_*, RESOLUTION_MISSING
 */
export function withPixelSize(calibration: Calibration, grid: GridScan, told: number | undefined): Calibration {
  const dpi = told === undefined ? grid.scan.header.dpi : { across: told, along: told }
  if (dpi === null) throw new ProblemError('RESOLUTION_MISSING')
  if (!same(dpi, calibration.scan.dpi))
    throw new ProblemError('GRID_OTHER_SETTING', `${dpi.across} dpi, the tablet ${calibration.scan.dpi.across} dpi`)
  const said = { across: UM_PER_INCH / dpi.across, along: UM_PER_INCH / dpi.along }
  const scale = gridScale(grid.scan, lightScale(calibration), said, grid.pitchMm)
  return { ...calibration, size: { sha256: grid.sha256, dpi, ...scale } }
}

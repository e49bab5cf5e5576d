import { studentT95 } from '../imaging/student-t.js'
import type { ScannerScale } from '../model/artwork.js'
import type { Calibration, Expanded, GridScale } from '../model/calibration.js'
import type { Dpi } from '../model/geometry.js'
import { UM_PER_INCH } from '../model/geometry.js'
import type { LengthDoubts, SizeDoubt } from '../model/length-doubts.js'
import { ProblemError } from '../model/problem.js'
import type { OpenScan } from '../model/scan.js'
import { gridScale } from './grid-scale.js'
import { lightScale } from './light-scale.js'

/** Resolutions this near to each other are one setting. */
const SAME_DPI = 0.02

/**
 * Without a grid the pixel is as long as the resolution says within this share (half-width, rectangular: JCGM 100:2008, 4.3.7). Flatbeds are
 * usually right within a few tenths of a percent. Common practice, no source; a grid tells better.
 */
const RESOLUTION_WITHIN = 0.005
/** Expanded uncertainty (k = 2) of a grid's pitch when its certificate is not told, share: what film moves with damp and warmth. */
export const PITCH_EXPANDED_SHARE = 0.0005
/** Degrees of freedom of the grid's scale: nine blocks, each left out in turn (grid-scale.ts). */
const GRID_FREEDOM = 8

/** Length of a pixel, and where it comes from in a sentence; `note` is null when only the resolution says it. */
export interface PixelSize {
  readonly umPerPixel: { readonly across: number; readonly along: number }
  readonly note: string | null
  /** What is not known of that length. */
  readonly doubts: Pick<LengthDoubts, 'across' | 'along'>
}

/**
 * Length of a pixel: as measured on a grid, when the calibration has that for this resolution, else as the resolution says.
 * @param calibration null when the scanner has none
 */
export function pixelSize(calibration: Calibration | null, dpi: Dpi): PixelSize {
  const said = { across: UM_PER_INCH / dpi.across, along: UM_PER_INCH / dpi.along }
  const size = calibration?.size ?? null
  if (size === null) return { umPerPixel: said, note: null, doubts: RESOLUTION_DOUBTS }
  if (!same(size.dpi, dpi))
    return {
      umPerPixel: said,
      doubts: RESOLUTION_DOUBTS,
      note: `The size of the scanner’s pixels was measured at ${size.dpi.across} dpi, not at this scan’s ${dpi.across}: lengths are taken from the resolution.`,
    }
  const umPerPixel = { across: said.across * size.across.value, along: said.along * size.along.value }
  return {
    umPerPixel,
    doubts: gridDoubts(size),
    note: `Lengths use the pixel size measured on a grid of ${size.pitchMm} mm pitch: ${umPerPixel.across.toFixed(3)} um across and ${umPerPixel.along.toFixed(3)} um along, which is ${percent(size.across)} and ${percent(size.along)} off what ${dpi.across} dpi says.`,
  }
}

const resolutionDoubt = (direction: 'across' | 'along'): SizeDoubt => ({
  name: `resolution, ${direction}`,
  share: RESOLUTION_WITHIN / Math.sqrt(3),
  type: 'B',
  degreesOfFreedom: null,
})

const RESOLUTION_DOUBTS = { across: [resolutionDoubt('across')], along: [resolutionDoubt('along')] }

/** The fit of the grid, and the grid itself; the latter errs alike both ways. */
function gridDoubts(size: GridScale): PixelSize['doubts'] {
  const pitch: SizeDoubt = {
    name: 'grid pitch',
    share: (size.pitchExpandedMm ?? PITCH_EXPANDED_SHARE * size.pitchMm) / 2 / size.pitchMm,
    type: 'B',
    degreesOfFreedom: null,
  }
  const read = (direction: 'across' | 'along'): SizeDoubt => ({
    name: `pixel size, ${direction}`,
    share: size[direction].expanded / studentT95(GRID_FREEDOM) / size[direction].value,
    type: 'A',
    degreesOfFreedom: GRID_FREEDOM,
  })
  return { across: [read('across'), pitch], along: [read('along'), pitch] }
}

/** How well the length of a pixel is known, standard uncertainty as a share: by the grid and its pitch, or by what the resolution of flatbeds is worth. */
export function scannerScale(calibration: Calibration | null, dpi: Dpi): ScannerScale {
  const { doubts } = pixelSize(calibration, dpi)
  const all = (list: readonly SizeDoubt[]) => Math.hypot(...list.map(doubt => doubt.share))
  const from = doubts === RESOLUTION_DOUBTS ? 'resolution' : 'grid'
  return { across: all(doubts.across), along: all(doubts.along), from }
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
  /** Expanded uncertainty (k = 2) of that pitch as its certificate states, mm; absent when it is not told. */
  readonly pitchExpandedMm?: number
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
  const pitchExpandedMm = grid.pitchExpandedMm ?? PITCH_EXPANDED_SHARE * grid.pitchMm
  const size = { sha256: grid.sha256, dpi, measuredAt: calibration.calibratedAt, ...scale, pitchExpandedMm }
  return { ...calibration, size }
}

/**
 * The calibration with the pixel size of the one it replaces, and a warning that says so: the length of a pixel is the scanner's mechanics and
 * does not change with its lamp or its tablet, so a new tablet scan need not throw it away.
 * @param earlier the calibration of the same scanner and setting that is replaced; null when there is none
 */
export function withEarlierSize(calibration: Calibration, earlier: Calibration | null): Calibration {
  const size = earlier?.size ?? null
  if (earlier === null || size === null || calibration.size || !same(size.dpi, calibration.scan.dpi)) return calibration
  const measuredAt = size.measuredAt ?? earlier.calibratedAt
  return {
    ...calibration,
    size: { ...size, measuredAt },
    warnings: [
      ...calibration.warnings,
      `The size of the scanner’s pixels is carried over from the calibration of ${measuredAt.slice(0, 10)}; give --grid to measure it anew.`,
    ],
  }
}

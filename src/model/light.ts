import type { Flare, LineSpread } from './calibration.js'
import type { PixelPoint } from './geometry.js'
import type { ScaleStep } from './length-doubts.js'
import type { Component } from './reading.js'
import type { OpenScan } from './scan.js'

/** The density of one mean code, with what is known of its error. */
export interface DensityEstimate {
  /** Density as the curve gives it; for a bound, the density the film is at least as deep as. */
  readonly density: number
  /** Combined standard uncertainty, D. */
  readonly standard: number
  readonly budget: readonly Component[]
  readonly bound: 'atLeast' | null
  /** The curve's best guess even beyond the deepest density (for the edge model only, never a reading). */
  readonly guess: number
}

/** What turns codes into light: made by calibrate/ from a calibration, or for an unknown response. */
export interface LightScale {
  /** `false`: codes are taken as linear, densities are `code density` and no verdict may pass. */
  readonly calibrated: boolean
  /**
   * Transmittance for every code, 65536 entries, strictly rising. Odd about the black code (negative below it),
   * so that the noise of deep pixels averages to zero. Average light through this table, then take the log.
   */
  readonly transmittance: Float32Array
  /**
   * Density of a mean code (mapped once) with standard error `codeError` of that mean.
   * @param surround light round the place, one value for each reach of the flare; left out: as round the tablet's step of that density
   * @param places where the mean was taken, pixels: what is not known of the light there goes into the budget
   */
  density(
    meanCode: number,
    codeError: number,
    surround?: readonly number[],
    places?: readonly PixelPoint[],
  ): DensityEstimate
  /** Flare of the scanner: `transmittance` is what the scanner sees, flare included; absent or null when it is not known. */
  readonly flare?: Flare | null
  /** Mean code that a transmittance would give: the inverse of the table. */
  code(transmittance: number): number
  /** Deepest density told apart; null when uncalibrated. */
  readonly deepest: number | null
  readonly lineSpread: { readonly across: LineSpread | null; readonly along: LineSpread | null }
  /** The tablet's steps that `transmittance` rests on; absent where that is not known. */
  readonly steps?: readonly ScaleStep[]
}

/** A scan whose codes mean light. Lengths come from `umPerPixel`. */
export interface DensityScan {
  readonly scan: OpenScan
  readonly light: LightScale
  readonly umPerPixel: { readonly across: number; readonly along: number }
  /** Light of the open glass at a place over that of its middle, to which all light is told; absent where no flat field is known. */
  readonly lit?: ((column: number, row: number) => number) | undefined
  /** Light round a place of the scan, pixels, one value for each reach of the flare: what flare is taken from. */
  surround?(column: number, row: number): readonly number[]
}

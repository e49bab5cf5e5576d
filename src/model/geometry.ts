/** Places and sizes. Order is always (column, row): column grows to the right, row grows downwards. */

/** A place on the scan in pixels; the centre of the first pixel is (0, 0). May be fractional. */
export interface PixelPoint {
  readonly column: number
  readonly row: number
}

/** A whole-pixel window of the scan. `column` and `row` name its first pixel. */
export interface PixelRect {
  readonly column: number
  readonly row: number
  readonly width: number
  readonly height: number
}

/** Pixels per inch: `across` along a row (the sensor's direction), `along` down the columns (the carriage's). */
export interface Dpi {
  readonly across: number
  readonly along: number
}

export const UM_PER_INCH = 25_400
export const MM_PER_INCH = 25.4

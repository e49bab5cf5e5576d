import { ProblemError } from '../model/problem.js'

/** Longest side a page may have, px: 635 mm at 4800 dpi. */
export const LONGEST_SIDE = 120_000
/** Most pixels a page may have: somewhat above A3 at 4800 dpi (4.45e9). */
export const MOST_PIXELS = 5e9

/**
 * Refuses a page that no flatbed can have made, before anything is allocated for it.
 * The bounds are the project's own.
 * @throws ProblemError SCAN_NO_PIXELS, SCAN_TOO_LARGE
 */
export function requirePageSize(width: number, height: number): void {
  if (!(Number.isInteger(width) && Number.isInteger(height) && width >= 1 && height >= 1))
    throw new ProblemError('SCAN_NO_PIXELS', `${width} x ${height}`)
  if (!(width <= LONGEST_SIDE && height <= LONGEST_SIDE && width * height <= MOST_PIXELS))
    throw new ProblemError('SCAN_TOO_LARGE', `${width} x ${height} pixels`)
}

import { normalQuantile } from '../imaging/normal.js'

/** Density at which half the light comes through. */
const HALF_LIGHT = Math.log10(2)

/**
 * How far the 50 % light contour of a Gaussian ink edge lies outside the middle of the edge, in sigmas: 1.03 at D 2 to 1.44 at D 4. Density follows
 * the ink (Beer-Lambert), so the contour of density d of a solid D stands at sigma times the normal quantile of 1 - d / D.
 * Closed form; the same numbers stand in `tests/unit/compare/edge-shift.test.ts`.
 * @param net density of the solid above base, above 2 log10 2 (below it the contour lies inside)
 * @throws RangeError for a density outside this
 */
export function edgeShift(net: number): number {
  if (!(net > 2 * HALF_LIGHT && net < 100))
    throw new RangeError(
      `net density of an edge must be above ${(2 * HALF_LIGHT).toFixed(2)} D and below 100; got ${net}`,
    )
  return normalQuantile(1 - HALF_LIGHT / net)
}

/**
 * How far apart two density contours of the same edge lie, in sigmas: what a fringe grows by with each sigma.
 * @param low lighter contour, D above base, above 0
 * @param high darker contour, above `low` and below `net`
 * @throws RangeError for contours outside these
 */
export function contourSpan(net: number, low: number, high: number): number {
  if (!(low > 0 && high > low && net > high))
    throw new RangeError(`contours must be 0 < low < high < net; got ${low}, ${high}, ${net}`)
  return normalQuantile(1 - low / net) - normalQuantile(1 - high / net)
}

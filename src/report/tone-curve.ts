/** Density shown as full black. Above it a picture shows no difference; the readings do. */
const BLACKEST = 3.4

/** Below 1 so that solids of different depth still part: D 0.05 is grey 234, D 1 is 132, D 2.5 is 43, D 3 is 19. */
const GENTLE = 0.6

/**
 * Grey of a pixel in a report's pictures, for its transmittance: 255 for open light, 0 at density 3.4 and deeper.
 * The same curve for the page and every crop, so that they compare. For looking at, never measured.
 * Light at or below nothing (noise about the black code) is black.
 */
export function toneCurve(transmittance: number): number {
  if (!(transmittance > 0)) return 0
  const density = Math.min(BLACKEST, Math.max(0, -Math.log10(transmittance)))
  return Math.round(255 * (1 - (density / BLACKEST) ** GENTLE))
}

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
  least ??= leastLights()
  // The last grey whose least light is reached, found by halving: a page has half a million pixels, and powers are slow.
  let grey = 0
  for (let step = 128; step > 0; step >>= 1) if (transmittance >= least[grey + step]!) grey += step
  return grey
}

function formula(transmittance: number): number {
  const density = Math.min(BLACKEST, Math.max(0, -Math.log10(transmittance)))
  return Math.round(255 * (1 - (density / BLACKEST) ** GENTLE))
}

/** The least light of each grey of 0 to 255, to the last bit. */
let least: Float64Array | null = null

function leastLights(): Float64Array {
  const table = new Float64Array(256)
  for (let grey = 1; grey < 256; grey++) {
    let below = 0
    let from = 1
    while (true) {
      const middle = (below + from) / 2
      if (middle <= below || middle >= from) break
      if (formula(middle) >= grey) from = middle
      else below = middle
    }
    table[grey] = from
  }
  return table
}

import { gaussianCdf, gaussianQuantile } from './gaussian.js'

/** A straight edge of a film: D(x) = base + net * P(Z <= x / sigma), x in um towards the ink, 0 at the artwork's edge. */
export interface FilmEdge {
  readonly baseDensity: number
  readonly netDensity: number
  readonly inkSpreadUm: number
}

/** Transmittance of a film edge at x um. */
export function edgeTransmittance(edge: FilmEdge, x: number): number {
  const ink = edge.inkSpreadUm > 0 ? gaussianCdf(x / edge.inkSpreadUm) : x > 0 ? 1 : x < 0 ? 0 : 0.5
  return 10 ** -(edge.baseDensity + edge.netDensity * ink)
}

/**
 * Where a film edge has a given density above base, um (negative: outside the artwork). Closed form.
 * @throws RangeError unless 0 < net < netDensity
 */
export function densityContour(edge: FilmEdge, net: number): number {
  if (!(net > 0 && net < edge.netDensity))
    throw new RangeError(`net density must lie between 0 and ${edge.netDensity}; got ${net}`)
  return edge.inkSpreadUm * gaussianQuantile(net / edge.netDensity)
}

/** Where a film edge has fallen to a given share of its own change in transmittance (1 clear, 0 solid), um. */
export function lightContour(edge: FilmEdge, share: number): number {
  const clear = 10 ** -edge.baseDensity
  const solid = 10 ** -(edge.baseDensity + edge.netDensity)
  return densityContour(edge, -Math.log10(solid + share * (clear - solid)) - edge.baseDensity)
}

/** 10-90 % of the change of transmittance along the normal, um: the film's own, no scanner. */
export function filmRise(edge: FilmEdge): number {
  return lightContour(edge, 0.1) - lightContour(edge, 0.9)
}

/** Distance between two contours of density above base, um; null where the solid does not reach the higher one. */
export function fringeWidth(edge: FilmEdge, low: number, high: number): number | null {
  if (!(low > 0 && high > low)) throw new RangeError(`contours must be 0 < low < high; got ${low} and ${high}`)
  if (high >= edge.netDensity) return null
  return densityContour(edge, high) - densityContour(edge, low)
}

/** How far outside the artwork's edge the light has fallen half way, um, positive outwards. */
export function halfLightShift(edge: FilmEdge): number {
  return -lightContour(edge, 0.5)
}

/** Ink spread after `seconds` of Fick diffusion, um: sigma^2 = sigma0^2 + 2 D t, D in um^2/s. */
export function diffusedSpread(startUm: number, diffusivity: number, seconds: number): number {
  return Math.sqrt(startUm * startUm + 2 * diffusivity * seconds)
}

/**
 * Ink spread that gives a wanted film rise, um.
 * The rise is proportional to the spread, so this is exact.
 */
export function spreadForRise(riseUm: number, baseDensity: number, netDensity: number): number {
  return riseUm / filmRise({ baseDensity, netDensity, inkSpreadUm: 1 })
}

/** How a scanner spreads light along one normal: Gaussian sigma, and the two sides of the pixel as the normal sees them, um. */
export interface NormalSpread {
  readonly sigmaUm: number
  readonly boxesUm: readonly [number, number]
}

/** Spread along a normal at `degrees` from the row direction, for given blur and pixel size each way. */
export function spreadAlongNormal(
  degrees: number,
  blurUm: { readonly across: number; readonly along: number },
  pixelUm: { readonly across: number; readonly along: number },
): NormalSpread {
  const c = Math.abs(Math.cos((degrees * Math.PI) / 180))
  const s = Math.abs(Math.sin((degrees * Math.PI) / 180))
  return {
    sigmaUm: Math.hypot(blurUm.across * c, blurUm.along * s),
    boxesUm: [pixelUm.across * c, pixelUm.along * s],
  }
}

/**
 * Share of a hard edge's light past x um, as the spread makes it: Gaussian over two boxes, closed form
 * (second difference of the second integral of the normal distribution).
 */
export function spreadStep(spread: NormalSpread, x: number): number {
  const [a, b] = spread.boxesUm
  const wide = Math.max(a, b)
  const narrow = Math.min(a, b)
  // A box under a thousandth of the other changes nothing that float64 can hold through a second difference.
  if (!(narrow > 1e-3 * wide)) return wide > 0 ? boxStep(spread.sigmaUm, wide, x) : step(spread.sigmaUm, x)
  const f = (t: number) => twiceIntegrated(spread.sigmaUm, t)
  const h = wide / 2
  const g = narrow / 2
  return (f(x + h + g) - f(x + h - g) - f(x - h + g) + f(x - h - g)) / (wide * narrow)
}

function step(sigma: number, x: number): number {
  return sigma > 0 ? gaussianCdf(x / sigma) : x > 0 ? 1 : x < 0 ? 0 : 0.5
}

function boxStep(sigma: number, width: number, x: number): number {
  return (onceIntegrated(sigma, x + width / 2) - onceIntegrated(sigma, x - width / 2)) / width
}

function onceIntegrated(sigma: number, x: number): number {
  if (!(sigma > 0)) return Math.max(0, x)
  const z = x / sigma
  return sigma * (z * gaussianCdf(z) + Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI))
}

function twiceIntegrated(sigma: number, x: number): number {
  if (!(sigma > 0)) return x > 0 ? (x * x) / 2 : 0
  const z = x / sigma
  return (sigma * sigma * ((z * z + 1) * gaussianCdf(z) + (z * Math.exp((-z * z) / 2)) / Math.sqrt(2 * Math.PI))) / 2
}

/**
 * Transmittance a scanner sees at x um from a straight film edge: the film's light under the scanner's spread.
 * Integrated numerically (Stieltjes sum over the film's light in 1600 slices, midpoint): good to 1e-6.
 */
export function scannedEdge(edge: FilmEdge, spread: NormalSpread): (x: number) => number {
  const clear = 10 ** -edge.baseDensity
  if (!(edge.inkSpreadUm > 0)) {
    const solid = 10 ** -(edge.baseDensity + edge.netDensity)
    return x => clear + (solid - clear) * spreadStep(spread, x)
  }
  // No scanner at all: the film itself.
  if (!(spread.sigmaUm > 0 || Math.max(...spread.boxesUm) > 0)) return x => edgeTransmittance(edge, x)
  const slices = 1600
  const reach = 8 * edge.inkSpreadUm
  const width = (2 * reach) / slices
  const places: number[] = []
  const drops: number[] = []
  let before = clear
  for (let i = 0; i < slices; i++) {
    const after =
      i === slices - 1 ? 10 ** -(edge.baseDensity + edge.netDensity) : edgeTransmittance(edge, -reach + (i + 1) * width)
    // Slices that change nothing are joined to the next.
    if (before - after < 1e-10 && i < slices - 1) continue
    places.push(-reach + (i + 0.5) * width)
    drops.push(after - before)
    before = after
  }
  const share = spreadTable(spread)
  return x => {
    let sum = clear
    for (let i = 0; i < places.length; i++) sum += drops[i]! * share(x - places[i]!)
    return sum
  }
}

/** `spreadStep` out of a table of 1/100 of its narrowest part, linear between: within 2e-6. */
function spreadTable(spread: NormalSpread): (x: number) => number {
  const [a, b] = spread.boxesUm
  const reach = 8 * spread.sigmaUm + (a + b) / 2 + 1e-9
  const fine = (spread.sigmaUm > 0 ? spread.sigmaUm : Math.max(a, b)) / 100
  const size = Math.ceil((2 * reach) / fine)
  const step = (2 * reach) / size
  const values = Float64Array.from({ length: size + 1 }, (_, i) => spreadStep(spread, -reach + i * step))
  return x => {
    const at = (x + reach) / step
    if (at <= 0) return 0
    if (at >= size) return 1
    const k = Math.floor(at)
    return values[k]! + (values[k + 1]! - values[k]!) * (at - k)
  }
}

/**
 * Where a monotone profile takes a value, by bisection between two places.
 * @throws RangeError when the value is not between the profile's values there
 */
export function placeOf(profile: (x: number) => number, value: number, from: number, to: number): number {
  const rising = profile(to) > profile(from)
  const inside = rising
    ? profile(from) <= value && value <= profile(to)
    : profile(to) <= value && value <= profile(from)
  if (!inside) throw new RangeError(`value must be taken between ${from} and ${to}; got ${value}`)
  let low = from
  let high = to
  for (let i = 0; i < 70; i++) {
    const middle = (low + high) / 2
    if (profile(middle) < value === rising) low = middle
    else high = middle
  }
  return (low + high) / 2
}

/** 10-90 % width of any monotone profile between its values at `from` and `to`. */
export function riseOf(profile: (x: number) => number, from: number, to: number): number {
  const a = profile(from)
  const b = profile(to)
  return Math.abs(placeOf(profile, a + 0.9 * (b - a), from, to) - placeOf(profile, a + 0.1 * (b - a), from, to))
}

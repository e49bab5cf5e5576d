import { normalCdf, normalQuantile } from '../imaging/normal.js'

/**
 * A printed edge as ink makes it: ink amount is a step spread by a Gaussian of `sigma`, density is ink times `net` above base,
 * light is 10^-density. Distance is positive towards the clear side; 0 is where the unspread ink ended.
 * Source: Fick's second law for a step (ink amount) and Beer-Lambert (density).
 */
export interface InkEdge {
  /** Light of the clear base, T. */
  readonly clear: number
  /** Solid density above base, D, > 0. */
  readonly net: number
  /** One sigma of the spread, um, > 0. */
  readonly sigma: number
}

/** Light at a distance (um) from the edge. */
export function lightAt(edge: InkEdge, distance: number): number {
  return edge.clear * 10 ** (-edge.net * normalCdf(-distance / edge.sigma))
}

/** Distance (um) of the contour of `density` above base, 0 < density < net. */
export function contourAt(edge: InkEdge, density: number): number {
  return -edge.sigma * normalQuantile(density / edge.net)
}

/** 10-90 % rise width in transmittance of the film itself, um: closed form. */
export function filmRise(edge: InkEdge): number {
  const solid = 10 ** -edge.net
  const at = (share: number) => contourAt(edge, -Math.log10(share + (1 - share) * solid))
  return at(0.9) - at(0.1)
}

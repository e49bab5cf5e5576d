import type { PrintedRaster } from './printed-raster.js'

/**
 * A synthetic film in millimetres. `u` runs across the print head, `v` along the feed, both from the film's own
 * corner; shapes add up as area coverage, so shapes of one film may touch but must not overlap where the truth
 * matters (where the sum passes 1 it is cut at 1).
 */
export interface Film {
  readonly widthMm: number
  readonly heightMm: number
  /** Density of the clear film. */
  readonly baseDensity: number
  /** Density of full ink above base. */
  readonly netDensity: number
  /** How far the ink has crept sideways, one sigma, um; acts on the ink amount. 0 means edges cut in light. */
  readonly inkSpreadUm: number
  readonly shapes: readonly Shape[]
  /** 1-bit rasters as the printer lays them, beside the shapes; wants an ink spread above 0. */
  readonly printed?: readonly PrintedRaster[]
  /** Ripple of the ink along the feed: half the peak-to-peak share of the ink amount, and pitch. */
  readonly banding?: { readonly amplitude: number; readonly pitchMm: number }
  /** Random ripple of the ink: rms share of the ink amount and correlation length. */
  readonly grain?: { readonly rms: number; readonly correlationUm: number }
  /** Random wandering of every edge, rms um along its normal, with its correlation length. */
  readonly raggedness?: { readonly rmsUm: number; readonly correlationUm: number }
}

/** `ink`: share of full ink, 1 unless told; negative takes ink away (a pinhole, a counter). */
export type Shape = Rectangle | Disc | Dots

/** Corner, size and turn about its own centre (degrees, u towards v). */
export interface Rectangle {
  readonly kind: 'rectangle'
  readonly u: number
  readonly v: number
  readonly width: number
  readonly height: number
  readonly turn?: number
  readonly ink?: number
}

/** Centre and radius. */
export interface Disc {
  readonly kind: 'disc'
  readonly u: number
  readonly v: number
  readonly radius: number
  readonly ink?: number
}

/** Whole round dots on a square screen, all inside a rectangle. */
export interface Dots {
  readonly kind: 'dots'
  readonly u: number
  readonly v: number
  readonly width: number
  readonly height: number
  /** Dot distance, mm. */
  readonly pitch: number
  /** Screen angle, degrees. */
  readonly angle: number
  readonly radius: number
  readonly ink?: number
}

/**
 * Checks a film and hands it back.
 * @throws RangeError on a size, density, spread or share of ink that cannot be
 */
export function checkedFilm(film: Film): Film {
  need('widthMm', film.widthMm, film.widthMm > 0 && film.widthMm < 2000, 'above 0 and below 2000')
  need('heightMm', film.heightMm, film.heightMm > 0 && film.heightMm < 2000, 'above 0 and below 2000')
  need('baseDensity', film.baseDensity, film.baseDensity >= 0, '0 or more')
  need('netDensity', film.netDensity, film.netDensity >= 0 && film.netDensity <= 8, '0 to 8')
  const spread = film.inkSpreadUm
  need('inkSpreadUm', spread, spread === 0 || (spread >= 2 && spread <= 500), '0, or 2 to 500')
  for (const shape of film.shapes) {
    const ink = shape.ink ?? 1
    need('ink of a shape', ink, ink >= -1 && ink <= 1, '-1 to 1')
    const sizes = shape.kind === 'rectangle' ? [shape.width, shape.height] : [shape.radius]
    for (const size of sizes) need(`size of a ${shape.kind}`, size, size > 0, 'above 0')
  }
  return film
}

function need(name: string, value: number, holds: boolean, rule: string): void {
  if (!holds) throw new RangeError(`${name} must be ${rule}; got ${value}`)
}

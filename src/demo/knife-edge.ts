import type { Film } from './film.js'

/** Density of the blade: no light at all that 16 bits could tell. */
const OPAQUE = 8

/**
 * A razor-straight opaque rectangle: laid on open glass a few degrees off the grid, it shows the scanner's own
 * spread of light in both directions.
 */
export function knifeEdge(widthMm: number, heightMm: number): Film {
  return { widthMm, heightMm, baseDensity: OPAQUE, netDensity: 0, inkSpreadUm: 0, shapes: [] }
}

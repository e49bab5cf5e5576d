import type { FilmPlaces } from '../measure/film-evidence.js'
import type { PixelPoint } from '../model/geometry.js'

/** The places that are the artwork's: those outside every control strip, whose own fields are read where they are known to be. */
export function besideStrips(
  places: FilmPlaces,
  strips: readonly { readonly corners: readonly PixelPoint[] }[],
): FilmPlaces {
  if (strips.length === 0) return places
  const outside = (column: number, row: number) => isBeside(strips, column, row)
  const patches = (list: FilmPlaces['solids']) =>
    list.filter(({ rect }) => outside(rect.column + rect.width / 2, rect.row + rect.height / 2))
  return {
    solids: patches(places.solids),
    lightest: patches(places.lightest),
    bases: places.bases,
    edges: places.edges.filter(({ from, to }) => outside((from.column + to.column) / 2, (from.row + to.row) / 2)),
  }
}

/** Whether a place of the scan lies outside every control strip. */
export function isBeside(
  strips: readonly { readonly corners: readonly PixelPoint[] }[],
  column: number,
  row: number,
): boolean {
  return !strips.some(({ corners }) => encloses(corners, column, row))
}

/** Whether a place lies in a convex figure whose corners go round it either way. */
export function encloses(corners: readonly PixelPoint[], column: number, row: number): boolean {
  let left = 0
  let right = 0
  corners.forEach((a, i) => {
    const b = corners[(i + 1) % corners.length]!
    const side = (b.column - a.column) * (row - a.row) - (b.row - a.row) * (column - a.column)
    if (side > 0) left++
    if (side < 0) right++
  })
  return left === 0 || right === 0
}

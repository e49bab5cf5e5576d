import type { PlaneMap } from '../imaging/fit-plane-map.js'
import type { ShiftField } from '../model/artwork.js'

/** How a place shares in the coefficients about it: the first of four columns and rows, and four weights each way. */
export interface SplineWeights {
  readonly column: number
  readonly row: number
  readonly x: readonly [number, number, number, number]
  readonly y: readonly [number, number, number, number]
}

/** @param x, y place, mm; outside the field its rim goes on */
export function splineWeights(
  { pitch, columns, rows }: Pick<ShiftField, 'pitch' | 'columns' | 'rows'>,
  x: number,
  y: number,
): SplineWeights {
  const u = Math.min(columns, Math.max(0, x / pitch))
  const v = Math.min(rows, Math.max(0, y / pitch))
  const column = Math.min(columns - 1, Math.floor(u))
  const row = Math.min(rows - 1, Math.floor(v))
  return { column, row, x: cubic(u - column), y: cubic(v - row) }
}

/** The four uniform cubic B-splines that reach a place `t` of the way through a cell. */
function cubic(t: number): [number, number, number, number] {
  const s = 1 - t
  return [(s * s * s) / 6, (3 * t * t * t - 6 * t * t + 4) / 6, (3 * s * s * s - 6 * s * s + 4) / 6, (t * t * t) / 6]
}

/** The shift at a place of the artwork, mm along its axes. */
export function shiftAt(field: ShiftField, x: number, y: number): { readonly across: number; readonly feed: number } {
  const at = splineWeights(field, x, y)
  const wide = field.columns + 3
  let across = 0
  let feed = 0
  for (let r = 0; r < 4; r++)
    for (let c = 0; c < 4; c++) {
      const weight = at.x[c]! * at.y[r]!
      const i = (at.row + r) * wide + at.column + c
      across += weight * field.across[i]!
      feed += weight * field.feed[i]!
    }
  return { across, feed }
}

/** The field seen from another even map. @param step affine map of the artwork's plane, mm, that takes its places from the old map's to the new one's */
export function steppedField(field: ShiftField, step: PlaneMap): ShiftField {
  const wide = field.columns + 3
  const across = new Float64Array(field.across.length)
  const feed = new Float64Array(field.feed.length)
  for (let i = 0; i < across.length; i++) {
    // A straight line has the splines' own middles for coefficients.
    const x = ((i % wide) - 1) * field.pitch
    const y = (Math.floor(i / wide) - 1) * field.pitch
    const [u, v] = [x + field.across[i]!, y + field.feed[i]!]
    across[i] = step.x0 + step.xx * u + step.xy * v - x
    feed[i] = step.y0 + step.yx * u + step.yy * v - y
  }
  return { ...field, across, feed }
}

import type { ShiftField } from '../model/artwork.js'
import { shiftAt } from './shift-field.js'

/** A place of the film off the even map, mm along the artwork's axes. */
export type LocalShift = (x: number, y: number) => { readonly across: number; readonly feed: number }

/** Side of the lattice that the splines are drawn on, mm: between its points a wave of 0.15 mm in 30 mm is straight within 3 um. */
const LATTICE_MM = 2

/** The film's smooth shift, worked out on a lattice and drawn straight between: it is asked for at every block of a page. */
export function localShift(field: ShiftField | null): LocalShift {
  if (field === null) return () => ({ across: 0, feed: 0 })
  const columns = Math.max(2, Math.ceil((field.columns * field.pitch) / LATTICE_MM) + 1)
  const rows = Math.max(2, Math.ceil((field.rows * field.pitch) / LATTICE_MM) + 1)
  const across = new Float64Array(columns * rows)
  const feed = new Float64Array(columns * rows)
  for (let i = 0; i < across.length; i++) {
    const shift = shiftAt(field, (i % columns) * LATTICE_MM, Math.floor(i / columns) * LATTICE_MM)
    across[i] = shift.across
    feed[i] = shift.feed
  }
  return (x, y) => {
    const u = Math.min(columns - 1, Math.max(0, x / LATTICE_MM))
    const v = Math.min(rows - 1, Math.max(0, y / LATTICE_MM))
    const column = Math.min(columns - 2, Math.floor(u))
    const row = Math.min(rows - 2, Math.floor(v))
    const i = row * columns + column
    const fu = u - column
    const fv = v - row
    const at = (values: Float64Array) =>
      (values[i]! * (1 - fu) + values[i + 1]! * fu) * (1 - fv) +
      (values[i + columns]! * (1 - fu) + values[i + columns + 1]! * fu) * fv
    return { across: at(across), feed: at(feed) }
  }
}

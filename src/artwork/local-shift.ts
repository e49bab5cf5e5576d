import type { ArtworkFit } from '../model/artwork.js'

/** A place of the film off the even map, mm along the artwork's axes. */
export type LocalShift = (x: number, y: number) => { readonly across: number; readonly feed: number }

/** Weight of no shift, and of none that changes from place to place, beside a full cell's 1. */
const NO_SHIFT = 0.02
const NO_SLOPE = 0.05
/** Fewer edge places than this in a cell count by their share. */
const FULL_PLACES = 20

/**
 * The film's smooth shift against the even map: means of what the fit leaves, cell by cell, drawn to each other by Gaussian weights of the cells' own
 * distance. Film and feed rollers wander slowly; what is quicker than the cells is no shift but a flaw. Nothing where no cell tells.
 */
export function localShift(fit: Pick<ArtworkFit, 'residuals'>): LocalShift {
  const of = (value: (cell: ArtworkFit['residuals'][number]) => number | null) =>
    fit.residuals.flatMap(cell => {
      const um = value(cell)
      return um === null ? [] : [{ x: cell.x, y: cell.y, mm: um / 1000, weight: Math.min(1, cell.n / FULL_PLACES) }]
    })
  const across = of(cell => cell.acrossUm)
  const feed = of(cell => cell.feedUm)
  const reach = Math.max(spacing(across), spacing(feed))
  // A plane through the cells about a place, weighted by nearness: a mean alone would lag where they all lie on one side of it, as at the rim.
  const level = (cells: typeof across, x: number, y: number): number => {
    // Faint pulls to no shift and to no slope: a lone cell far off decides nothing.
    let [s, sx, sy, sxx, sxy, syy, t, tx, ty] = [NO_SHIFT, 0, 0, NO_SLOPE, 0, NO_SLOPE, 0, 0, 0]
    for (const cell of cells) {
      const u = (cell.x - x) / reach
      const v = (cell.y - y) / reach
      const weight = cell.weight * Math.exp(-(u * u + v * v))
      s += weight
      sx += weight * u
      sy += weight * v
      sxx += weight * u * u
      sxy += weight * u * v
      syy += weight * v * v
      t += weight * cell.mm
      tx += weight * cell.mm * u
      ty += weight * cell.mm * v
    }
    // The plane's height at the place, by Cramer's rule.
    const [minor, one, two] = [sxx * syy - sxy * sxy, sx * syy - sxy * sy, sx * sxy - sxx * sy]
    return (t * minor - sx * (tx * syy - sxy * ty) + sy * (tx * sxy - sxx * ty)) / (s * minor - sx * one + sy * two)
  }
  if (across.length + feed.length === 0) return () => ({ across: 0, feed: 0 })
  // Smooth as it is, it is worked out on a lattice and drawn straight between.
  const pitch = reach / LATTICE
  const xs = fit.residuals.map(cell => cell.x)
  const ys = fit.residuals.map(cell => cell.y)
  const x0 = Math.min(...xs) - reach
  const y0 = Math.min(...ys) - reach
  const columns = Math.ceil((Math.max(...xs) + reach - x0) / pitch) + 1
  const rows = Math.ceil((Math.max(...ys) + reach - y0) / pitch) + 1
  const lattice = (cells: typeof across) =>
    Float64Array.from({ length: columns * rows }, (_, i) =>
      level(cells, x0 + (i % columns) * pitch, y0 + Math.floor(i / columns) * pitch),
    )
  const [acrossAt, feedAt] = [lattice(across), lattice(feed)]
  return (x, y) => {
    const u = Math.min(columns - 1.001, Math.max(0, (x - x0) / pitch))
    const v = Math.min(rows - 1.001, Math.max(0, (y - y0) / pitch))
    const i = Math.floor(v) * columns + Math.floor(u)
    const fu = u - Math.floor(u)
    const fv = v - Math.floor(v)
    const at = (values: Float64Array) =>
      (values[i]! * (1 - fu) + values[i + 1]! * fu) * (1 - fv) +
      (values[i + columns]! * (1 - fu) + values[i + columns + 1]! * fu) * fv
    return { across: at(acrossAt), feed: at(feedAt) }
  }
}

/** Lattice points to one reach of the Gaussians. */
const LATTICE = 3

/** Middle distance from a cell to its nearest neighbour, mm. */
function spacing(cells: readonly { readonly x: number; readonly y: number }[]): number {
  const nearest = cells.map(one =>
    cells.reduce(
      (least, other) => (other === one ? least : Math.min(least, Math.hypot(other.x - one.x, other.y - one.y))),
      Number.POSITIVE_INFINITY,
    ),
  )
  const told = nearest.filter(Number.isFinite).sort((a, b) => a - b)
  return told.length === 0 ? 10 : Math.max(2, told[told.length >> 1]!)
}

import { Matrix, solve } from 'ml-matrix'
import type { GridPicture } from './find-placement.js'
import { mapped, type PlaneMap } from './fit-plane-map.js'

/** How well two pictures agree under a map. */
export interface Agreement {
  /** Correlation over what both show: 1 when one is the other. */
  readonly correlation: number
  /** Share of the first picture's squared values that lies in view of the second. */
  readonly inView: number
}

export interface RefinePlan {
  /** Cell the comparison begins with and ends with, um: the map must be good to about one cell of the first. */
  readonly fromCell: number
  readonly toCell: number
}

/** Places compared at each cell size: enough for a thousandth of a cell, few enough to be quick. */
const MOST_PLACES = 16_000
/** Slope, in units of the picture a cell, below which a place has nothing to hold on to. */
const LEAST_SLOPE = 0.02
const MOST_ROUNDS = 14
/** A difference this large is damage or another picture, not a misplacement. */
const OUTLIER = 0.25
/** Moved by less than this share of a cell at the rim of the picture: settled. */
const SETTLED = 0.002
/** Cell sizes over which scale and squareness are free; before, a turn, a shift and one scale are enough. */
const FREE_BELOW = 3

/**
 * The affine map that lays one picture on another, refined from coarse cells to fine ones by the pictures' gradients
 * (Lucas & Kanade, IJCAI 1981; coarse to fine after Bouguet, from memory), places of large difference weighed down.
 * @param start um of the first to um of the second, good to about a coarse cell
 * @returns null when there is too little structure in common to hold on to
 */
export function refinePlacement(a: GridPicture, b: GridPicture, start: PlaneMap, plan: RefinePlan): PlaneMap | null {
  let map = start
  const cells: number[] = []
  for (let cell = plan.fromCell; cell > plan.toCell * 1.4; cell /= 2) cells.push(cell)
  cells.push(plan.toCell)
  for (let i = 0; i < cells.length; i++) {
    const cell = cells[i]!
    const next = refineAt(shrunk(a, cell), shrunk(b, cell), map, cell, cells.length - i <= FREE_BELOW)
    if (next === null) return null
    map = next
  }
  return map
}

/** How well two pictures agree under a map, at cells of a given size. */
export function agreement(a: GridPicture, b: GridPicture, map: PlaneMap, cell: number): Agreement {
  const first = shrunk(a, cell)
  const second = shrunk(b, cell)
  let n = 0
  let sa = 0
  let sb = 0
  let saa = 0
  let sbb = 0
  let sab = 0
  let all = 0
  for (let r = 0; r < first.rows; r++)
    for (let c = 0; c < first.columns; c++) {
      const value = first.values[r * first.columns + c]!
      all += value * value
      const to = mapped(map, first.x0 + c * first.dx, first.y0 + r * first.dy)
      const other = valueAt(second, to.x, to.y)
      if (other === null) continue
      n++
      sa += value
      sb += other
      saa += value * value
      sbb += other * other
      sab += value * other
    }
  const va = saa - (sa * sa) / Math.max(1, n)
  const vb = sbb - (sb * sb) / Math.max(1, n)
  return {
    correlation: va > 0 && vb > 0 ? (sab - (sa * sb) / n) / Math.sqrt(va * vb) : 0,
    inView: all > 0 ? saa / all : 0,
  }
}

/** The picture in cells of about `cell` um, each the mean of what it holds; the picture itself when that is no coarser. */
export function shrunk(picture: GridPicture, cell: number): GridPicture {
  const fx = Math.max(1, Math.round(cell / picture.dx))
  const fy = Math.max(1, Math.round(cell / picture.dy))
  if (fx === 1 && fy === 1) return picture
  const columns = Math.floor(picture.columns / fx)
  const rows = Math.floor(picture.rows / fy)
  const values = new Float32Array(columns * rows)
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      let sum = 0
      for (let y = r * fy; y < (r + 1) * fy; y++)
        for (let x = c * fx; x < (c + 1) * fx; x++) sum += picture.values[y * picture.columns + x]!
      values[r * columns + c] = sum / (fx * fy)
    }
  return {
    columns,
    rows,
    values,
    x0: picture.x0 + ((fx - 1) / 2) * picture.dx,
    y0: picture.y0 + ((fy - 1) / 2) * picture.dy,
    dx: picture.dx * fx,
    dy: picture.dy * fy,
  }
}

/** Value between the cells at a place in um; null outside the picture. */
export function valueAt(picture: GridPicture, x: number, y: number): number | null {
  const c = (x - picture.x0) / picture.dx
  const r = (y - picture.y0) / picture.dy
  if (!(c >= 0 && r >= 0 && c < picture.columns - 1 && r < picture.rows - 1)) return null
  const column = Math.floor(c)
  const row = Math.floor(r)
  const fx = c - column
  const fy = r - row
  const at = row * picture.columns + column
  const { values, columns } = picture
  return (
    (1 - fy) * ((1 - fx) * values[at]! + fx * values[at + 1]!) +
    fy * ((1 - fx) * values[at + columns]! + fx * values[at + columns + 1]!)
  )
}

function refineAt(a: GridPicture, b: GridPicture, start: PlaneMap, cell: number, free: boolean): PlaneMap | null {
  const places = steepPlaces(a)
  if (places.length < 12) return null
  // Coordinates from -1 to 1 keep the equations well scaled.
  const half = Math.max(a.columns * a.dx, a.rows * a.dy) / 2
  const midX = a.x0 + ((a.columns - 1) / 2) * a.dx
  const midY = a.y0 + ((a.rows - 1) / 2) * a.dy
  const count = free ? 6 : 4
  let map = start
  const row = new Float64Array(6)
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const normal = new Float64Array(count * count)
    const pull = new Float64Array(count)
    let used = 0
    for (const at of places) {
      const c = at % a.columns
      const r = (at - c) / a.columns
      const x = a.x0 + c * a.dx
      const y = a.y0 + r * a.dy
      const to = mapped(map, x, y)
      const here = valueAt(b, to.x, to.y)
      const right = valueAt(b, to.x + b.dx, to.y)
      const left = valueAt(b, to.x - b.dx, to.y)
      const below = valueAt(b, to.x, to.y + b.dy)
      const above = valueAt(b, to.x, to.y - b.dy)
      if (here === null || right === null || left === null || below === null || above === null) continue
      const gx = (right - left) / 2 / b.dx
      const gy = (below - above) / 2 / b.dy
      const off = a.values[at]! - here
      const weight = 1 / (1 + (off / OUTLIER) ** 2)
      const u = (x - midX) / half
      const v = (y - midY) / half
      row[0] = gx
      row[1] = gy
      if (free) {
        row[2] = gx * u
        row[3] = gx * v
        row[4] = gy * u
        row[5] = gy * v
      } else {
        // Turn and scale of what is there: along and across the mapped direction.
        const mx = map.xx * u + map.xy * v
        const my = map.yx * u + map.yy * v
        row[2] = gx * mx + gy * my
        row[3] = -gx * my + gy * mx
      }
      for (let i = 0; i < count; i++) {
        pull[i]! += weight * row[i]! * off
        for (let j = 0; j <= i; j++) normal[i * count + j]! += weight * row[i]! * row[j]!
      }
      used++
    }
    if (used < 12) return null
    const matrix = new Matrix(count, count)
    let trace = 0
    for (let i = 0; i < count; i++) trace += normal[i * count + i]!
    for (let i = 0; i < count; i++)
      for (let j = 0; j <= i; j++) {
        matrix.set(i, j, normal[i * count + j]!)
        matrix.set(j, i, normal[i * count + j]!)
      }
    // A touch of reluctance to move where nothing holds (lines of one direction alone).
    for (let i = 0; i < count; i++) matrix.set(i, i, matrix.get(i, i) + (1e-6 * trace) / count)
    let move: number[]
    try {
      move = solve(matrix, Matrix.columnVector(Array.from(pull))).to1DArray()
    } catch {
      return null
    }
    if (!move.every(Number.isFinite)) return null
    // No step past a cell and a half: beyond that the gradients tell nothing.
    const far = Math.max(...move.map(Math.abs))
    const damp = Math.min(1, (1.5 * cell) / Math.max(far, 1e-9))
    map = moved(
      map,
      move.map(m => m * damp),
      { half, midX, midY, free },
    )
    if (far < SETTLED * cell) break
  }
  return map
}

function moved(
  map: PlaneMap,
  move: readonly number[],
  { half, midX, midY, free }: { half: number; midX: number; midY: number; free: boolean },
): PlaneMap {
  let { xx, xy, yx, yy } = map
  const middle = mapped(map, midX, midY)
  if (free) {
    xx += move[2]! / half
    xy += move[3]! / half
    yx += move[4]! / half
    yy += move[5]! / half
  } else {
    const s = move[2]! / half
    const t = move[3]! / half
    ;[xx, xy, yx, yy] = [xx + s * xx - t * yx, xy + s * xy - t * yy, yx + s * yx + t * xx, yy + s * yy + t * xy]
  }
  const x = middle.x + move[0]!
  const y = middle.y + move[1]!
  return { xx, xy, yx, yy, x0: x - xx * midX - xy * midY, y0: y - yx * midX - yy * midY }
}

/** Cells with a slope, thinned evenly when there are too many. */
function steepPlaces(a: GridPicture): number[] {
  const { columns, rows, values } = a
  const found: number[] = []
  for (let r = 1; r < rows - 1; r++)
    for (let c = 1; c < columns - 1; c++) {
      const at = r * columns + c
      const x = values[at + 1]! - values[at - 1]!
      const y = values[at + columns]! - values[at - columns]!
      if (x * x + y * y > 4 * LEAST_SLOPE * LEAST_SLOPE) found.push(at)
    }
  const every = Math.ceil(found.length / MOST_PLACES)
  return every <= 1 ? found : found.filter((_, i) => i % every === 0)
}

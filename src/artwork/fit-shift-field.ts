import { bandedMatrix, factored } from '../imaging/banded-solve.js'
import type { PlaneMap } from '../imaging/fit-plane-map.js'
import type { ShiftField } from '../model/artwork.js'
import type { EdgeDisplacement } from './edge-displacements.js'
import { splineWeights } from './shift-field.js'

/** Cells of the finest field, mm: a wave of 30 mm is followed within a hundredth. */
const FINEST_MM = 6
/** How much a film's shift may bend, one sigma in any 8 by 8 mm, 1/mm: from a film that does not wander to 0.15 mm in waves of 30 mm. */
const BENDS = [1e-5, 1e-4, 4e-4, 1.5e-3] as const
const BEND_MM = 8
/** Coarse fields follow a wander only in part, so no edge is dropped for them. */
const COARSE_BEND = 1e-3
/** Every so manieth window is left out in turn to see which bend foretells it best. */
const FOLDS = 4
/** A stiffer field is taken unless a softer one leaves less than this share of the squares. */
const BETTER = 0.8
/** Left-out edges count as no further off than this many sigmas. */
const FAR_SIGMAS = 4
/** How far ink is likely to spread, one sigma, mm: decides only where no stroke shows both its edges. */
const GAIN_MM = 0.06
/** Edges further from the fit than this many robust sigmas are dust, missing pieces or scratches (Tukey's biweight). */
const OUTLIER_SIGMAS = 4.685
/** No fit is better than this, mm. */
const LEAST_SIGMA_MM = 0.001
const ROUNDS = { coarse: 3, fine: 5 }

export interface ShiftFit {
  readonly field: ShiftField
  /** Weight of each edge place, 0 for an outlier, and what is left of it, mm. */
  readonly weights: Float64Array
  readonly left: Float64Array
  /** Root mean square of what is left, mm, outliers left out. */
  readonly residual: number
}

/** Edge displacements as rows of the fit. */
interface Told {
  readonly x: number
  readonly y: number
  readonly nx: number
  readonly ny: number
  readonly off: number
  readonly window: number
}

interface Solved {
  readonly field: ShiftField
  readonly gain: readonly [number, number]
  readonly left: Float64Array
}

/**
 * The film's smooth shift against the map its edges were read by, from all edges: coarse cells first, with no edge dropped, since a film that wanders
 * would lose the wandering ones; then finer ones with outliers left out. Second differences of the coefficients are held small (Eilers & Marx, Statistical
 * Science 11, 89, 1996), so the slope goes on where edges end; how small is told by windows left out. Ink gain is fitted beside it.
 * @param map artwork mm to scan mm
 * @param size of the artwork, mm
 */
export function fitShiftField(
  edges: readonly EdgeDisplacement[],
  map: PlaneMap,
  size: { readonly width: number; readonly height: number },
): ShiftFit | null {
  const determinant = map.xx * map.yy - map.xy * map.yx
  const told = edges.map(({ x, y, nx, ny, off, window }): Told => {
    // A normal's length under the map's inverse, transposed: displacements were read on the scan, the field lies on the artwork.
    const length = Math.hypot(map.yy * nx - map.yx * ny, map.xx * ny - map.xy * nx) / Math.abs(determinant)
    return { x, y, nx, ny, off: off * length, window }
  })
  const longest = Math.max(size.width, size.height)
  const finest = finestPitch(told, size)
  const levels = Math.max(0, Math.ceil(Math.log2(longest / finest)) - 1)
  let weights = new Float64Array(told.length).fill(1)
  let sigma = 0.02
  let last: Solved | null = null
  for (let level = levels; ; level--) {
    const pitch = finest * 2 ** level
    const grid = gridOf(told, pitch, size)
    for (let round = 0; round < ROUNDS.coarse; round++) {
      const solved = solve(told, weights, grid, sigma, COARSE_BEND)
      if (solved === null) return null
      last = solved
      sigma = robustSigma(solved.left)
      // Least distances: far ones count by less and less, none by nothing.
      weights = solved.left.map(left => 1 / Math.max(1, Math.abs(left) / sigma))
    }
    if (level > 0) continue
    const bend = bestBend(told, weights, grid, sigma)
    for (let round = 0; round < ROUNDS.fine; round++) {
      const solved = solve(told, weights, grid, sigma, bend)
      if (solved === null) return null
      last = solved
      sigma = robustSigma(solved.left)
      weights = solved.left.map(left => {
        const u = left / (OUTLIER_SIGMAS * sigma)
        return Math.abs(u) < 1 ? (1 - u * u) ** 2 : 0
      })
    }
    return { field: last!.field, weights, left: last!.left, residual: weightedRms(last!.left, weights) }
  }
}

/** No finer than the windows lie apart. */
function finestPitch(
  told: readonly Told[],
  { width, height }: { readonly width: number; readonly height: number },
): number {
  const windows = new Set(told.map(one => one.window)).size
  return Math.max(FINEST_MM, 0.9 * Math.sqrt((width * height) / Math.max(windows, 1)))
}

/** Coefficients that share in a place: four by four, for both axes. */
const SHARES = 32

/** The cells, and by how much each coefficient shares in each edge place. */
interface Grid extends Pick<ShiftField, 'pitch' | 'columns' | 'rows'> {
  readonly indices: Int32Array
  readonly shares: Float64Array
}

function gridOf(
  told: readonly Told[],
  pitch: number,
  { width, height }: { readonly width: number; readonly height: number },
): Grid {
  const cells = { pitch, columns: Math.max(1, Math.ceil(width / pitch)), rows: Math.max(1, Math.ceil(height / pitch)) }
  const indices = new Int32Array(SHARES * told.length)
  const shares = new Float64Array(SHARES * told.length)
  told.forEach(({ x, y, nx, ny }, n) => {
    const at = splineWeights(cells, x, y)
    for (let r = 0; r < 4; r++)
      for (let c = 0; c < 4; c++) {
        const k = SHARES * n + 8 * r + 2 * c
        const i = 2 * ((at.row + r) * (cells.columns + 3) + at.column + c)
        indices.set([i, i + 1], k)
        shares.set([at.x[c]! * at.y[r]! * nx, at.x[c]! * at.y[r]! * ny], k)
      }
  })
  return { ...cells, indices, shares }
}

function robustSigma(left: Float64Array): number {
  const sizes = left.map(Math.abs).sort()
  return Math.max(LEAST_SIGMA_MM, 1.4826 * sizes[sizes.length >> 1]!)
}

function weightedRms(values: Float64Array, weights: Float64Array): number {
  let squares = 0
  let total = 0
  for (let i = 0; i < values.length; i++) {
    squares += weights[i]! * values[i]! ** 2
    total += weights[i]!
  }
  return Math.sqrt(squares / Math.max(total, 1e-9))
}

/** The stiffest field that foretells windows left out about as well as any. */
function bestBend(told: readonly Told[], weights: Float64Array, grid: Grid, sigma: number): number {
  let best: { bend: number; off: number } | null = null
  for (const bend of BENDS) {
    let off = 0
    for (let fold = 0; fold < FOLDS; fold++) {
      const kept = weights.map((weight, i) => (told[i]!.window % FOLDS === fold ? 0 : weight))
      const solved = solve(told, kept, grid, sigma, bend)
      if (solved === null) return COARSE_BEND
      // However far off, an outlier says no more against one bend than against another.
      told.forEach(({ window }, i) => {
        if (window % FOLDS === fold) off += Math.min(solved.left[i]! ** 2, (FAR_SIGMAS * sigma) ** 2)
      })
    }
    // When one step softer tells nothing more, neither do two.
    if (best !== null && !(off < BETTER * best.off)) break
    best = { bend, off }
  }
  return best!.bend
}

/** Weighted least squares for both axes' coefficients (in turns, so that the matrix is a band) and the gain both ways. */
function solve(told: readonly Told[], weights: Float64Array, grid: Grid, sigma: number, bend: number): Solved | null {
  const { indices, shares, pitch, columns, rows } = grid
  const wide = columns + 3
  const high = rows + 3
  const count = 2 * wide * high
  // Four rows of coefficients meet in a place, and three in a line of second differences.
  const matrix = bandedMatrix(count, 2 * (3 * wide + 4))
  const { band, values } = matrix
  const right = [new Float64Array(count), new Float64Array(count), new Float64Array(count)] as const
  const gains = [1 / GAIN_MM ** 2, 0, 1 / GAIN_MM ** 2]
  const gainRight = [0, 0]
  told.forEach((one, n) => {
    const w = weights[n]! / sigma ** 2
    if (w === 0) return
    const g0 = one.nx ** 2
    const g1 = one.ny ** 2
    for (let a = SHARES * n; a < SHARES * (n + 1); a++) {
      const i = indices[a]!
      const wa = w * shares[a]!
      right[0][i]! += wa * one.off
      right[1][i]! += wa * g0
      right[2][i]! += wa * g1
      for (let b = SHARES * n; b <= a; b++) values[i * band + i - indices[b]!]! += wa * shares[b]!
    }
    gains[0]! += w * g0 * g0
    gains[1]! += w * g0 * g1
    gains[2]! += w * g1 * g1
    gainRight[0]! += w * g0 * one.off
    gainRight[1]! += w * g1 * one.off
  })
  addBending(matrix, wide, high, pitch, bend)
  const finish = factored(matrix)
  if (finish === null) return null
  const [b, u, v] = right
  const [bu, bv] = [Float64Array.from(u), Float64Array.from(v)]
  for (const side of right) finish(side)
  // The gains, bordering the band: what is left of their equations once the field has taken its share.
  const dot = (p: Float64Array, q: Float64Array) => p.reduce((sum, value, i) => sum + value * q[i]!, 0)
  const [s00, s01, s11] = [gains[0]! - dot(bu, u), gains[1]! - dot(bu, v), gains[2]! - dot(bv, v)]
  const [t0, t1] = [gainRight[0]! - dot(bu, b), gainRight[1]! - dot(bv, b)]
  const determinant = s00 * s11 - s01 * s01
  if (!(determinant > 0)) return null
  const gain = [(t0 * s11 - t1 * s01) / determinant, (t1 * s00 - t0 * s01) / determinant] as const
  const fitted = b.map((value, i) => value - gain[0] * u[i]! - gain[1] * v[i]!)
  const left = Float64Array.from(told, (one, n) => {
    let sum = gain[0] * one.nx ** 2 + gain[1] * one.ny ** 2
    for (let a = SHARES * n; a < SHARES * (n + 1); a++) sum += shares[a]! * fitted[indices[a]!]!
    return one.off - sum
  })
  const half = (from: number) => Float64Array.from({ length: wide * high }, (_, i) => fitted[2 * i + from]!)
  return { field: { pitch, columns, rows, across: half(0), feed: half(1) }, gain, left }
}

/** Second differences along both axes and across, each as likely as `bend` has it; and a faint pull to nothing where no edge tells. */
function addBending(
  { band, values, size }: ReturnType<typeof bandedMatrix>,
  wide: number,
  high: number,
  pitch: number,
  bend: number,
): void {
  const weight = 1 / (bend * pitch * BEND_MM) ** 2
  const add = (indices: readonly number[], factors: readonly number[], share: number): void => {
    for (let axis = 0; axis < 2; axis++)
      for (let a = 0; a < indices.length; a++)
        for (let b = 0; b < indices.length; b++) {
          const [i, j] = [2 * indices[a]! + axis, 2 * indices[b]! + axis]
          if (j <= i) values[i * band + i - j]! += share * factors[a]! * factors[b]!
        }
  }
  for (let r = 0; r < high; r++)
    for (let c = 0; c < wide; c++) {
      const i = r * wide + c
      if (c + 2 < wide) add([i, i + 1, i + 2], [1, -2, 1], weight)
      if (r + 2 < high) add([i, i + wide, i + 2 * wide], [1, -2, 1], weight)
      if (c + 1 < wide && r + 1 < high) add([i, i + 1, i + wide, i + wide + 1], [1, -1, -1, 1], 2 * weight)
    }
  for (let i = 0; i < size; i++) values[i * band]! += FAINT
}

/** 1 / mm2: 3 mm. */
const FAINT = 0.1

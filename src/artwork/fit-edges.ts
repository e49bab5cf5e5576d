import type { PlaneMap } from '../imaging/fit-plane-map.js'
import { invertMatrix, solveLinear } from '../imaging/solve-linear.js'
import type { EdgeDisplacement } from './edge-displacements.js'

/**
 * What is held likely before any edge is read, one sigma: how far the overview's map is off, mm and shares, and how far ink spreads, mm.
 * They decide only where the artwork itself tells nothing: a single block whose edges all lie at its rim cannot tell size from gain.
 */
const LIKELY = { shiftMm: 0.3, scale: 0.03, gainMm: 0.06 }
/** Edges further from the fit than this many robust sigmas are dust, missing pieces or scratches (Tukey's biweight). */
const OUTLIER_SIGMAS = 4.685
/** No fit is better than this, mm: a tenth of a printer's dot. */
const LEAST_SIGMA_MM = 0.001
const ROUNDS = 12
const P = 8

export interface EdgeFit {
  /** Move of the scan's plane about `middle`: s becomes s + shift + matrix (s - middle), mm of the scan. */
  readonly move: {
    readonly x: number
    readonly y: number
    readonly xx: number
    readonly xy: number
    readonly yx: number
    readonly yy: number
  }
  readonly middle: { readonly x: number; readonly y: number }
  /** How far edges lie outside the artwork's, mm of the scan, across the head and along the feed. */
  readonly gain: { readonly across: number; readonly feed: number }
  /** Covariance of the move's xx, xy, yx, yy (in this order), from window to window. */
  readonly covariance: Float64Array
  /** Root mean square of what is left, mm, outliers left out. */
  readonly residual: number
  /** Weight of each edge place, 0 for an outlier, and what is left of it, mm. */
  readonly weights: Float64Array
  readonly left: Float64Array
  /** Windows that count. */
  readonly windows: number
}

/**
 * Fits shift, both scales, turn and skew together with the ink's gain in both directions to edge displacements, robustly. Gain moves
 * opposite edges apart and shift moves them alike, so a gain is never taken for size where strokes of the artwork have both their edges.
 * The covariance is taken from window to window (Liang & Zeger, Biometrika 73, 13, 1986), since edge places of one window wander together.
 * @param map artwork mm to scan mm, by which the displacements were read
 * @param given weights of the edges, where what is an outlier is known already
 */
export function fitEdges(edges: readonly EdgeDisplacement[], map: PlaneMap, given?: Float64Array): EdgeFit | null {
  const n = edges.length
  if (n < P) return null
  const determinant = map.xx * map.yy - map.xy * map.yx
  const places = edges.map(edge => {
    const nx = (map.yy * edge.nx - map.yx * edge.ny) / determinant
    const ny = (map.xx * edge.ny - map.xy * edge.nx) / determinant
    const length = Math.hypot(nx, ny)
    return {
      x: map.x0 + map.xx * edge.x + map.xy * edge.y,
      y: map.y0 + map.yx * edge.x + map.yy * edge.y,
      nx: nx / length,
      ny: ny / length,
    }
  })
  const middle = {
    x: places.reduce((sum, place) => sum + place.x, 0) / n,
    y: places.reduce((sum, place) => sum + place.y, 0) / n,
  }
  let reach = 0
  for (const place of places) reach = Math.max(reach, Math.abs(place.x - middle.x), Math.abs(place.y - middle.y))
  if (!(reach > 0)) return null
  const rows = new Float64Array(n * P)
  edges.forEach((edge, i) => {
    const { x, y, nx, ny } = places[i]!
    const a = (x - middle.x) / reach
    const b = (y - middle.y) / reach
    rows.set([nx, nx * a, nx * b, ny, ny * a, ny * b, edge.nx ** 2, edge.ny ** 2], i * P)
  })
  const likely = [
    LIKELY.shiftMm,
    LIKELY.scale * reach,
    LIKELY.scale * reach,
    LIKELY.shiftMm,
    LIKELY.scale * reach,
    LIKELY.scale * reach,
    LIKELY.gainMm,
    LIKELY.gainMm,
  ]
  const weights = given === undefined ? new Float64Array(n).fill(1) : Float64Array.from(given)
  const left = new Float64Array(n)
  let sigma = 0.02
  let fitted = new Float64Array(P)
  let h = new Float64Array(P * P)
  for (let round = 0; round < (given === undefined ? ROUNDS : 2); round++) {
    h = new Float64Array(P * P)
    const rhs = new Float64Array(P)
    for (let i = 0; i < n; i++) {
      const w = weights[i]! / sigma ** 2
      if (w === 0) continue
      for (let j = 0; j < P; j++) {
        const wj = w * rows[i * P + j]!
        rhs[j]! += wj * edges[i]!.off
        for (let k = 0; k < P; k++) h[j * P + k]! += wj * rows[i * P + k]!
      }
    }
    for (let j = 0; j < P; j++) h[j * P + j]! += 1 / likely[j]! ** 2
    const solved = solveLinear(h, rhs, P)
    if (solved === null) return null
    fitted = Float64Array.from(solved)
    for (let i = 0; i < n; i++) {
      let sum = 0
      for (let j = 0; j < P; j++) sum += rows[i * P + j]! * fitted[j]!
      left[i] = edges[i]!.off - sum
    }
    const sizes = Float64Array.from(left, Math.abs).sort()
    sigma = Math.max(LEAST_SIGMA_MM, 1.4826 * sizes[sizes.length >> 1]!)
    if (given !== undefined) continue
    for (let i = 0; i < n; i++) {
      const u = left[i]! / (OUTLIER_SIGMAS * sigma)
      weights[i] = Math.abs(u) < 1 ? (1 - u * u) ** 2 : 0
    }
  }
  const bread = invertMatrix(h, P)
  if (bread === null) return null
  const scores = new Map<number, Float64Array>()
  let squares = 0
  let count = 0
  for (let i = 0; i < n; i++) {
    const w = weights[i]!
    if (w === 0) continue
    squares += w * left[i]! ** 2
    count += w
    const { window } = edges[i]!
    const score = scores.get(window) ?? new Float64Array(P)
    for (let j = 0; j < P; j++) score[j]! += (w / sigma ** 2) * left[i]! * rows[i * P + j]!
    scores.set(window, score)
  }
  const windows = scores.size
  if (windows < 2) return null
  // Few windows show less scatter than there is: n / (n - parameters), at least as many as half were free.
  const few = windows / Math.max(windows - P, windows / 2, 1)
  const meat = new Float64Array(P * P)
  for (const score of scores.values())
    for (let j = 0; j < P; j++) for (let k = 0; k < P; k++) meat[j * P + k]! += few * score[j]! * score[k]!
  for (let j = 0; j < P; j++) meat[j * P + j]! += 1 / likely[j]! ** 2
  const covariance = product(product(bread, meat), bread)
  const linear = [1, 2, 4, 5]
  return {
    move: {
      x: fitted[0]!,
      xx: fitted[1]! / reach,
      xy: fitted[2]! / reach,
      y: fitted[3]!,
      yx: fitted[4]! / reach,
      yy: fitted[5]! / reach,
    },
    middle,
    gain: { across: fitted[6]!, feed: fitted[7]! },
    covariance: Float64Array.from(
      { length: 16 },
      (_, k) => covariance[linear[k >> 2]! * P + linear[k & 3]!]! / (reach * reach),
    ),
    residual: Math.sqrt(squares / Math.max(count, 1e-9)),
    weights,
    left,
    windows,
  }
}

function product(a: Float64Array, b: Float64Array): Float64Array {
  const out = new Float64Array(P * P)
  for (let r = 0; r < P; r++)
    for (let c = 0; c < P; c++) {
      let sum = 0
      for (let k = 0; k < P; k++) sum += a[r * P + k]! * b[k * P + c]!
      out[r * P + c] = sum
    }
  return out
}

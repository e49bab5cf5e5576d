import { fitPolynomial, polynomial } from '../imaging/fit-polynomial.js'
import type { LightField } from '../imaging/light-field.js'
import { median, robustDeviation } from '../imaging/robust.js'
import { type FittedStroke, fitStroke, type LightNodes, type StrokeProfile } from './stroke-model.js'

/** A straight piece of a stroke, or of the gap between two, as it was found or drawn: where to measure, not a measurement. Lengths in um. */
export interface Stroke {
  readonly kind: 'line' | 'gap'
  readonly x: number
  readonly y: number
  /** Unit vector along the stroke. */
  readonly tx: number
  readonly ty: number
  readonly length: number
  readonly width: number
  /** Room on either side up to the next edge, the less of the two. */
  readonly room: number
}

/** A stroke as one scan has it. */
export interface MeasuredStroke extends FittedStroke {
  /** Middle of the stroke, um on the scan: sure across the stroke, not along it. */
  readonly x: number
  readonly y: number
  /** Unit vector across the stroke. */
  readonly nx: number
  readonly ny: number
  readonly lines: number
  /** What the model was fitted to; its distances are from near the middle: `centre` is the middle. */
  readonly profile: StrokeProfile
  /** The blur it was fitted through. */
  readonly nodes: LightNodes
}

export interface StrokeOptions {
  /** Light of clear film and net density of full ink, to begin with and to keep. */
  readonly clear: number
  readonly net: number
  /** 10-90 % rise of the film's edges as seen on this scan, um. */
  readonly seenRise: number
  /** 10-90 % rise of the scanner alone, um. */
  readonly scannerRise: number
  /** Share of clear film's light at which the width is told; half unless told. */
  readonly level?: number
}

/** Why a stroke could not be measured. */
export type StrokeFault = 'outOfView' | 'noEdges' | 'ragged' | 'shape' | 'faint'

const BINS_PER_PIXEL = 4
const FEWEST_LINES = 14
/** An edge is looked for this far from where it should be, um, beyond what the blur needs. */
const SEARCH_UM = 130
/** Strokes narrower than this share of the seen rise are followed by their middle: their edges have run into each other. */
const NARROW = 1.5
/** Reach beside an edge, in seen rises, and at least, um. */
const REACH_RISES = 2.4
const LEAST_REACH_UM = 160
/** Lines further off than this many robust deviations are dust or damage. */
const OUTLIER = 5
/** A departure this large is not a stroke of the model's shape: a corner, a neighbour, a scratch. */
const WORST_MISFIT = 0.03
/** Both edges alike to this tangent. */
const PARALLEL = 0.06

/**
 * Width of one stroke at half the light, of the film alone. Every line of pixels across the stroke is cut at half the light, the cuts give
 * the run of each edge (a parabola: bent strokes serve too), the pixels are gathered by their distance from it, and the stroke model is fitted
 * through the scanner's line spread. The place along the stroke is as told; the place across it is found anew.
 */
export function measureStroke(
  field: LightField,
  nodes: LightNodes,
  stroke: Stroke,
  options: StrokeOptions,
): MeasuredStroke | StrokeFault {
  const { clear, seenRise } = options
  const nx = stroke.ty
  const ny = -stroke.tx
  const reach = Math.min(Math.max(LEAST_REACH_UM, REACH_RISES * seenRise), 0.85 * stroke.room)
  const pieces = readPieces(field, stroke, { nx, ny }, reach + SEARCH_UM)
  if (pieces === null) return 'outOfView'
  const sides = edgeRuns(pieces, stroke, options, nx, ny)
  if (typeof sides === 'string') return sides
  const { left, right } = sides
  if (!(Math.abs(left[1]! - right[1]!) <= PARALLEL)) return 'shape'
  const cos = 1 / Math.hypot(1, (left[1]! + right[1]!) / 2)
  const width = (right[0]! - left[0]!) * cos
  const middle = (right[0]! + left[0]!) / 2
  const inside = Math.min(width / 2, reach)
  const pitch = Math.hypot(nx * field.umPerPixel.across, ny * field.umPerPixel.along)
  const bin = pitch / BINS_PER_PIXEL
  const low = -width / 2 - reach
  const size = Math.ceil((width + 2 * reach) / bin) + 1
  const distance = new Float64Array(size)
  const light = new Float64Array(size)
  const squares = new Float64Array(size)
  const count = new Float64Array(size)
  for (const piece of pieces)
    for (let i = 0; i < piece.light.length; i++) {
      const v = piece.v[i]!
      if (!(Math.abs(v) <= stroke.length / 2)) continue
      const u = piece.u[i]!
      const before = (u - polynomial(left, v)) * cos
      const after = (u - polynomial(right, v)) * cos
      // Each pixel belongs to the nearer edge.
      const isLeft = Math.abs(before) < Math.abs(after)
      const off = isLeft ? before : after
      if (!(isLeft ? off >= -reach && off <= inside : off <= reach && off >= -inside)) continue
      const at = (isLeft ? -width / 2 : width / 2) + off
      const k = Math.floor((at - low) / bin)
      if (k < 0 || k >= size) continue
      distance[k]! += at
      light[k]! += piece.light[i]!
      squares[k]! += piece.light[i]! ** 2
      count[k]! += 1
    }
  const filled: number[] = []
  const scatter: number[] = []
  for (let k = 0; k < size; k++) {
    if (!(count[k]! > 0)) continue
    filled.push(k)
    const mean = light[k]! / count[k]!
    if (count[k]! >= 4 && mean > 0.8 * clear)
      scatter.push(Math.sqrt(Math.max(0, squares[k]! / count[k]! - mean * mean) * (count[k]! / (count[k]! - 1))))
  }
  if (filled.length < 12) return 'noEdges'
  const profile = {
    distance: Float64Array.from(filled, k => distance[k]! / count[k]!),
    light: Float64Array.from(filled, k => light[k]! / count[k]!),
    count: Float64Array.from(filled, k => count[k]!),
    noise: Math.max(1e-4, scatter.length > 0 ? median(scatter) : 0.005 * clear),
    width,
  }
  const start = Math.max(3, Math.sqrt(Math.max(9, seenRise ** 2 - options.scannerRise ** 2)) / 1.7)
  const fit = fitStroke(stroke.kind, profile, nodes, options.net, clear, start, options.level)
  if (fit === null) return 'faint'
  if (!(fit.misfit <= WORST_MISFIT)) return 'shape'
  const across = middle + fit.centre / cos
  return {
    ...fit,
    x: stroke.x + nx * across,
    y: stroke.y + ny * across,
    nx,
    ny,
    lines: sides.lines,
    profile,
    nodes,
  }
}

interface Piece {
  readonly light: Float32Array
  readonly width: number
  readonly height: number
  /** Distance across and along the stroke from its middle, um. */
  readonly u: Float64Array
  readonly v: Float64Array
}

/** Windows over both edges: one when they are near each other. */
function readPieces(
  field: LightField,
  stroke: Stroke,
  { nx, ny }: { nx: number; ny: number },
  reach: number,
): Piece[] | null {
  const half = stroke.width / 2
  const spans =
    stroke.width < 6 * reach
      ? [[-half - reach, half + reach]]
      : [
          [-half - reach, -half + reach],
          [half - reach, half + reach],
        ]
  const pieces: Piece[] = []
  for (const [from, to] of spans) {
    let left = Number.POSITIVE_INFINITY
    let right = Number.NEGATIVE_INFINITY
    let top = Number.POSITIVE_INFINITY
    let bottom = Number.NEGATIVE_INFINITY
    for (const u of [from!, to!])
      for (const v of [-stroke.length / 2, stroke.length / 2]) {
        const x = (stroke.x + nx * u + stroke.tx * v) / field.umPerPixel.across
        const y = (stroke.y + ny * u + stroke.ty * v) / field.umPerPixel.along
        left = Math.min(left, x)
        right = Math.max(right, x)
        top = Math.min(top, y)
        bottom = Math.max(bottom, y)
      }
    const column = Math.floor(left)
    const row = Math.floor(top)
    const width = Math.ceil(right) - column + 1
    const height = Math.ceil(bottom) - row + 1
    if (!(column >= 0 && row >= 0 && column + width <= field.width && row + height <= field.height)) return null
    const light = field.read({ column, row, width, height })
    const u = new Float64Array(light.length)
    const v = new Float64Array(light.length)
    for (let r = 0; r < height; r++)
      for (let c = 0; c < width; c++) {
        const x = (column + c) * field.umPerPixel.across - stroke.x
        const y = (row + r) * field.umPerPixel.along - stroke.y
        u[r * width + c] = x * nx + y * ny
        v[r * width + c] = x * stroke.tx + y * stroke.ty
      }
    pieces.push({ light, width, height, u, v })
  }
  return pieces
}

/** Parabolas u(v) of both edges. */
function edgeRuns(
  pieces: readonly Piece[],
  stroke: Stroke,
  options: StrokeOptions,
  nx: number,
  ny: number,
): { left: number[]; right: number[]; lines: number } | StrokeFault {
  const byRow = Math.abs(nx) >= Math.abs(ny)
  const narrow = stroke.width < NARROW * options.seenRise
  const near = SEARCH_UM + 0.3 * options.seenRise
  const cuts = { left: [] as [number, number][], right: [] as [number, number][] }
  const isLine = stroke.kind === 'line'
  const level = options.clear / 2
  for (const piece of pieces) {
    const lines = byRow ? piece.height : piece.width
    const length = byRow ? piece.width : piece.height
    const step = byRow ? 1 : piece.width
    const jump = byRow ? piece.width : 1
    for (let line = 0; line < lines; line++) {
      if (narrow) {
        const middle = middleOf(piece, line * jump, step, length, stroke, options)
        if (middle !== null) {
          cuts.left.push(middle)
          cuts.right.push(middle)
        }
        continue
      }
      let best: { left: [number, number, number] | null; right: [number, number, number] | null } = {
        left: null,
        right: null,
      }
      for (let i = 1; i < length; i++) {
        const p = line * jump + (i - 1) * step
        const q = p + step
        const a = piece.light[p]!
        const b = piece.light[q]!
        if (a < level === b < level) continue
        const part = (level - a) / (b - a)
        const u = piece.u[p]! + (piece.u[q]! - piece.u[p]!) * part
        const v = piece.v[p]! + (piece.v[q]! - piece.v[p]!) * part
        if (!(Math.abs(v) <= stroke.length / 2)) continue
        // Going along +u the light falls into a line and rises out of it; a gap the other way.
        const fallsAlongU = a > b === piece.u[q]! > piece.u[p]!
        const side = fallsAlongU === isLine ? 'left' : 'right'
        const off = Math.abs(u - (side === 'left' ? -stroke.width / 2 : stroke.width / 2))
        if (off <= near && (best[side] === null || off < best[side]![2])) best = { ...best, [side]: [u, v, off] }
      }
      if (best.left !== null) cuts.left.push([best.left[0], best.left[1]])
      if (best.right !== null) cuts.right.push([best.right[0], best.right[1]])
    }
  }
  const fits: number[][] = []
  let lines = Number.POSITIVE_INFINITY
  for (const side of ['left', 'right'] as const) {
    const points = cuts[side]
    if (points.length < FEWEST_LINES) return 'noEdges'
    const run = robustRun(points, stroke.length / 2)
    if (run === null) return 'ragged'
    fits.push(run.coefficients)
    lines = Math.min(lines, run.used)
  }
  if (narrow) {
    fits[0]![0]! -= stroke.width / 2
    fits[1]![0]! += stroke.width / 2
  }
  return { left: fits[0]!, right: fits[1]!, lines }
}

/** Middle of the light a narrow stroke holds back (or lets through) on one line of pixels. */
function middleOf(
  piece: Piece,
  start: number,
  step: number,
  length: number,
  stroke: Stroke,
  { clear, seenRise }: StrokeOptions,
): [number, number] | null {
  const around = stroke.width / 2 + Math.min(0.7 * stroke.room, 0.8 * seenRise + SEARCH_UM / 2)
  let sum = 0
  let u = 0
  let v = 0
  let most = 0
  for (let i = 0; i < length; i++) {
    const at = start + i * step
    if (!(Math.abs(piece.u[at]!) <= around)) continue
    const held = stroke.kind === 'line' ? 1 - piece.light[at]! / clear : piece.light[at]! / clear
    if (!(held > 0.08)) continue
    sum += held
    u += held * piece.u[at]!
    v += held * piece.v[at]!
    most = Math.max(most, held)
  }
  if (!(most > 0.3 && Math.abs(v / sum) <= stroke.length / 2)) return null
  return [u / sum, v / sum]
}

/** Parabola through the cuts, outliers left out; a straight line where the bend is within its own noise. */
function robustRun(points: readonly [number, number][], half: number): { coefficients: number[]; used: number } | null {
  const x = Float64Array.from(points, ([, v]) => v / half)
  const y = Float64Array.from(points, ([u]) => u)
  const weights = new Float64Array(points.length).fill(1)
  const fitted = (order: number) => {
    let c = fitPolynomial(x, y, weights, order)
    for (let round = 0; round < 3; round++) {
      const off = Float64Array.from(y, (value, i) => value - polynomial(c, x[i]!))
      const spread = Math.max(robustDeviation(off), 0.3)
      for (let i = 0; i < off.length; i++) weights[i] = Math.abs(off[i]!) <= OUTLIER * spread ? 1 : 0
      c = fitPolynomial(x, y, weights, order)
    }
    let squares = 0
    let used = 0
    for (let i = 0; i < y.length; i++) {
      if (!(weights[i]! > 0)) continue
      squares += (y[i]! - polynomial(c, x[i]!)) ** 2
      used++
    }
    return { c, used, squares }
  }
  const bent = fitted(2)
  if (bent.used < 0.7 * points.length) return null
  const error = Math.sqrt(bent.squares / Math.max(1, bent.used - 3)) / Math.sqrt(Math.max(1, bent.used))
  const { c, used } = Math.abs(bent.c[2]!) > 8 * error ? bent : fitted(1)
  return { coefficients: c.map((value, k) => value / half ** k), used }
}

import { type BlockOverview, blockCentre } from './block-overview.js'
import { integralImage } from './integral-image.js'
import type { LightField } from './light-field.js'

/** What is compared: light of both fields, cut at the level both still hold. */
export interface ShiftPlan {
  /** Light of `b` divided by light of `a`. A few percent of error do little: windows are compared after their own contrast is taken out. */
  readonly ratio: number
  /** Light of `a` above which either field is cut, so that what only one of them can hold does not count. */
  readonly cap: number
}

/** What lies at (column, row) of `a` lies at (column + shift.column, row + shift.row) of `b`. */
export interface RegisteredShift {
  readonly shift: { readonly column: number; readonly row: number }
  /** Standard error of the shift from the windows' own scatter, px. */
  readonly standard: { readonly column: number; readonly row: number }
  /** Middle correlation of the windows once aligned: 1 is the same picture, 0 is another. */
  readonly correlation: number
  /** The most that one window, by itself, lies off the common shift, px: turn or scale between the two. */
  readonly disagreement: number
  /** First pixel (on `a`) of each window compared; they are `windowPx` wide and high. */
  readonly windows: readonly { readonly column: number; readonly row: number }[]
  readonly windowPx: number
}

export type NotRegistered = { readonly refused: 'noStructure' | 'noMatch'; readonly correlation: number }

/** The shift is looked for this far, px. */
export const FARTHEST_SHIFT = 20
/** Room round a window of `b`: the farthest shift, the coarse step and the interpolation's reach. */
const ROOM = 28
const WINDOW = 128
/** The page is divided into so many cells a side; the best window of each is taken. */
const CELLS = 4
/** Side of a coarse pixel. */
const COARSE = 4
/** Below this correlation the best place is chance. */
const LEAST_CORRELATION = 0.5
/** A window whose light varies by less than this share of the cap shows nothing to hold on to. */
const LEAST_CONTRAST = 0.03
const MOST_ROUNDS = 12
const SETTLED_PX = 0.002
/** A window must know its own shift to this, px, to be heard on turn and scale. */
const KNOWN_PX = 0.1

interface Window {
  readonly column: number
  readonly row: number
  /** Light of `a`, smoothed. WINDOW x WINDOW. */
  readonly a: Float64Array
  /** Light of `b` over a, smoothed, with ROOM all round. */
  readonly b: Float64Array
}

const WIDE = WINDOW + 2 * ROOM

/**
 * Sub-pixel shift between two pictures of one unmoved thing at different exposure: correlation of up to 16 windows with
 * structure for the whole pixels, then gradients for the fraction (Lucas & Kanade, IJCAI 1981, with both pictures'
 * gradients). Assumes a shift alone: turn and scale between two passes of one carriage are far below a pixel, and
 * `disagreement` tells when they are not. Good to 0.05 px where the windows hold edges in both directions.
 * @param overview of `a`, through the table `a` reads light by: says where the structure is
 */
export function registerShift(
  a: LightField,
  b: LightField,
  overview: BlockOverview,
  plan: ShiftPlan,
): RegisteredShift | NotRegistered {
  if (!(plan.ratio > 0)) throw new RangeError(`ratio must be above 0; got ${plan.ratio}`)
  if (!(plan.cap > 0)) throw new RangeError(`cap must be above 0; got ${plan.cap}`)
  const windows = structuredPlaces(overview, plan.cap)
    .map(place => readWindow(a, b, place, plan))
    .filter(window => contrast(window) > LEAST_CONTRAST * plan.cap)
  if (windows.length === 0) return { refused: 'noStructure', correlation: 0 }
  const coarse = bestPlace(windows.map(reduced), WINDOW / COARSE, ROOM / COARSE, { column: 0, row: 0 }, ROOM / COARSE)
  if (!(coarse.correlation >= LEAST_CORRELATION)) return { refused: 'noMatch', correlation: coarse.correlation }
  const near = { column: coarse.column * COARSE, row: coarse.row * COARSE }
  const fine = bestPlace(windows, WINDOW, ROOM, near, COARSE)
  if (!(fine.correlation >= LEAST_CORRELATION)) return { refused: 'noMatch', correlation: fine.correlation }
  return refine(windows, fine)
}

/** First pixels of the windows with most structure in both directions, one for each cell of the page. */
function structuredPlaces(overview: BlockOverview, cap: number): { column: number; row: number }[] {
  const { columns, rows, blockPx, light, scanWidth, scanHeight } = overview
  const steep = (direction: 'across' | 'along') =>
    integralImage(
      Float64Array.from({ length: columns * rows }, (_, i) => {
        const next = direction === 'across' ? i + 1 : i + columns
        if (direction === 'across' ? (i + 1) % columns === 0 : next >= columns * rows) return 0
        return Math.abs(Math.min(cap, light[next]!) - Math.min(cap, light[i]!))
      }),
      columns,
      rows,
    )
  const across = steep('across')
  const along = steep('along')
  const side = Math.max(1, Math.round(WINDOW / blockPx))
  const reach = WINDOW / 2 + ROOM
  const best = new Map<number, { score: number; column: number; row: number }>()
  const stride = Math.max(1, side >> 2)
  for (let r = 0; r + side <= rows; r += stride)
    for (let c = 0; c + side <= columns; c += stride) {
      const column = Math.round((blockCentre(overview, c) + blockCentre(overview, c + side - 1)) / 2)
      const row = Math.round((blockCentre(overview, r) + blockCentre(overview, r + side - 1)) / 2)
      if (!(column >= reach && row >= reach && column + reach <= scanWidth && row + reach <= scanHeight)) continue
      const x = across.sum(c, r, side, side)
      const y = along.sum(c, r, side, side)
      const score = Math.min(x, y) + 0.1 * (x + y)
      const cell = Math.floor((row * CELLS) / scanHeight) * CELLS + Math.floor((column * CELLS) / scanWidth)
      const found = best.get(cell)
      if (score > 0 && (found === undefined || score > found.score))
        best.set(cell, { score, column: column - WINDOW / 2, row: row - WINDOW / 2 })
    }
  return [...best.values()]
}

function readWindow(a: LightField, b: LightField, place: { column: number; row: number }, plan: ShiftPlan): Window {
  const { column, row } = place
  const cut = (field: LightField, room: number, ratio: number): Float64Array => {
    const side = WINDOW + 2 * room
    const light = field.read({ column: column - room, row: row - room, width: side, height: side })
    return smoothed(
      Float64Array.from(light, value => Math.min(value / ratio, plan.cap)),
      side,
    )
  }
  return { column, row, a: cut(a, 0, 1), b: cut(b, ROOM, plan.ratio) }
}

/** Binomial 1-2-1 both ways: takes the edge off single pixels, so that interpolation between them is honest. */
function smoothed(values: Float64Array, side: number): Float64Array {
  const half = new Float64Array(values.length)
  const whole = new Float64Array(values.length)
  const at = (i: number) => Math.min(side - 1, Math.max(0, i))
  for (let r = 0; r < side; r++)
    for (let c = 0; c < side; c++)
      half[r * side + c] =
        (values[r * side + at(c - 1)]! + 2 * values[r * side + c]! + values[r * side + at(c + 1)]!) / 4
  for (let r = 0; r < side; r++)
    for (let c = 0; c < side; c++)
      whole[r * side + c] = (half[at(r - 1) * side + c]! + 2 * half[r * side + c]! + half[at(r + 1) * side + c]!) / 4
  return whole
}

function contrast({ a }: Window): number {
  let sum = 0
  let squares = 0
  for (const value of a) {
    sum += value
    squares += value * value
  }
  const mean = sum / a.length
  return Math.sqrt(Math.max(0, squares / a.length - mean * mean))
}

function reduced(window: Window): Window {
  const shrink = (values: Float64Array, side: number): Float64Array => {
    const small = side / COARSE
    const out = new Float64Array(small * small)
    for (let r = 0; r < side; r++)
      for (let c = 0; c < side; c++)
        out[Math.floor(r / COARSE) * small + Math.floor(c / COARSE)]! += values[r * side + c]!
    return out
  }
  return { ...window, a: shrink(window.a, WINDOW), b: shrink(window.b, WIDE) }
}

/** Whole-pixel shift of the best mean correlation over the windows, within `reach` of `near`. */
function bestPlace(
  windows: readonly Window[],
  side: number,
  room: number,
  near: { column: number; row: number },
  reach: number,
): { column: number; row: number; correlation: number } {
  let best = { column: near.column, row: near.row, correlation: Number.NEGATIVE_INFINITY }
  for (let dr = Math.max(-room, near.row - reach); dr <= Math.min(room, near.row + reach); dr++)
    for (let dc = Math.max(-room, near.column - reach); dc <= Math.min(room, near.column + reach); dc++) {
      let sum = 0
      for (const window of windows) sum += correlationAt(window, side, room, dc, dr)
      const correlation = sum / windows.length
      if (correlation > best.correlation) best = { column: dc, row: dr, correlation }
    }
  return best
}

function correlationAt({ a, b }: Window, side: number, room: number, dc: number, dr: number): number {
  const wide = side + 2 * room
  let sa = 0
  let sb = 0
  let saa = 0
  let sbb = 0
  let sab = 0
  for (let r = 0; r < side; r++) {
    const from = (r + room + dr) * wide + room + dc
    for (let c = 0; c < side; c++) {
      const x = a[r * side + c]!
      const y = b[from + c]!
      sa += x
      sb += y
      saa += x * x
      sbb += y * y
      sab += x * y
    }
  }
  const n = side * side
  const va = saa - (sa * sa) / n
  const vb = sbb - (sb * sb) / n
  return va > 0 && vb > 0 ? (sab - (sa * sb) / n) / Math.sqrt(va * vb) : 0
}

/** Normal equations of one window at a shift: structure tensor, pull, residual variance and correlation. */
interface Pull {
  readonly xx: number
  readonly xy: number
  readonly yy: number
  readonly x: number
  readonly y: number
  /** Variance of one pixel's residual. */
  readonly variance: number
  readonly correlation: number
}

/** Left out at the window's rim, where there is no gradient. */
const RIM = 2
/** Neighbours are correlated by the smoothing: so many pixels count as one. */
const CORRELATED = 4

function refine(windows: readonly Window[], start: { column: number; row: number }): RegisteredShift | NotRegistered {
  let column = start.column
  let row = start.row
  let pulls: Pull[] = []
  for (let round = 0; round < MOST_ROUNDS; round++) {
    pulls = windows.map(window => pullAt(window, column, row))
    const move = solved(pulls)
    if (move === null) return { refused: 'noStructure', correlation: 0 }
    column += move.x
    row += move.y
    if (!(Math.abs(column) < ROOM - 3 && Math.abs(row) < ROOM - 3)) return { refused: 'noMatch', correlation: 0 }
    if (Math.hypot(move.x, move.y) < SETTLED_PX) break
  }
  pulls = windows.map(window => pullAt(window, column, row))
  const correlations = pulls.map(p => p.correlation).sort((p, q) => p - q)
  const { xx, xy, yy } = total(pulls)
  const determinant = xx * yy - xy * xy
  let disagreement = 0
  for (const pull of pulls) {
    // Each window is heard along the direction it knows best: an edge tells nothing along itself.
    const middle = (pull.xx + pull.yy) / 2
    const apart = Math.hypot((pull.xx - pull.yy) / 2, pull.xy)
    const most = middle + apart
    const angle = Math.atan2(2 * pull.xy, pull.xx - pull.yy) / 2
    for (const [strength, turn] of [
      [most, angle],
      [middle - apart, angle + Math.PI / 2],
    ] as const) {
      if (!(Math.sqrt((CORRELATED * pull.variance) / strength) < KNOWN_PX)) continue
      // Only a direction whose structure is not the leakage of the other.
      if (!(strength > 0.05 * most)) continue
      disagreement = Math.max(disagreement, Math.abs(pull.x * Math.cos(turn) + pull.y * Math.sin(turn)) / strength)
    }
  }
  const variance = pulls.reduce((sum, p) => sum + p.variance, 0) / pulls.length
  return {
    shift: { column, row },
    standard: {
      column: Math.sqrt((CORRELATED * variance * yy) / determinant),
      row: Math.sqrt((CORRELATED * variance * xx) / determinant),
    },
    correlation: correlations[correlations.length >> 1]!,
    disagreement,
    windows: windows.map(({ column, row }) => ({ column, row })),
    windowPx: WINDOW,
  }
}

function total(pulls: readonly Pull[]): { xx: number; xy: number; yy: number; x: number; y: number } {
  const sum = { xx: 0, xy: 0, yy: 0, x: 0, y: 0 }
  for (const pull of pulls) for (const key of ['xx', 'xy', 'yy', 'x', 'y'] as const) sum[key] += pull[key]
  return sum
}

function solved(pulls: readonly Pull[]): { x: number; y: number } | null {
  const { xx, xy, yy, x, y } = total(pulls)
  const determinant = xx * yy - xy * xy
  // Edges of one direction alone leave the shift along them open.
  if (!(determinant > 1e-3 * (xx + yy) ** 2)) return null
  return { x: (yy * x - xy * y) / determinant, y: (xx * y - xy * x) / determinant }
}

function pullAt({ a, b }: Window, shiftColumn: number, shiftRow: number): Pull {
  const warped = warp(b, shiftColumn, shiftRow)
  const first = stretched(a)
  const second = stretched(warped)
  let xx = 0
  let xy = 0
  let yy = 0
  let x = 0
  let y = 0
  let squares = 0
  let product = 0
  let count = 0
  for (let r = RIM; r < WINDOW - RIM; r++)
    for (let c = RIM; c < WINDOW - RIM; c++) {
      const i = r * WINDOW + c
      const gx = (first[i + 1]! - first[i - 1]! + second[i + 1]! - second[i - 1]!) / 4
      const gy = (first[i + WINDOW]! - first[i - WINDOW]! + second[i + WINDOW]! - second[i - WINDOW]!) / 4
      const off = first[i]! - second[i]!
      xx += gx * gx
      xy += gx * gy
      yy += gy * gy
      x += gx * off
      y += gy * off
      squares += off * off
      product += first[i]! * second[i]!
      count++
    }
  return { xx, xy, yy, x, y, variance: squares / count, correlation: product / count }
}

/** Mean taken off, standard deviation 1. */
function stretched(values: Float64Array): Float64Array {
  let sum = 0
  for (const value of values) sum += value
  const mean = sum / values.length
  let squares = 0
  for (const value of values) squares += (value - mean) ** 2
  const scale = 1 / Math.sqrt(Math.max(squares / values.length, 1e-300))
  return values.map(value => (value - mean) * scale)
}

/** The window of `b` moved back by a shift, by cubics through four neighbours (Keys, IEEE Trans. ASSP 29, 1153, 1981). */
function warp(b: Float64Array, shiftColumn: number, shiftRow: number): Float64Array {
  const wholeColumn = Math.floor(shiftColumn)
  const wholeRow = Math.floor(shiftRow)
  const across = cubicWeights(shiftColumn - wholeColumn)
  const along = cubicWeights(shiftRow - wholeRow)
  const lines = new Float64Array((WINDOW + 3) * WINDOW)
  for (let r = 0; r < WINDOW + 3; r++) {
    const from = (r + ROOM + wholeRow - 1) * WIDE + ROOM + wholeColumn - 1
    for (let c = 0; c < WINDOW; c++) {
      let sum = 0
      for (let k = 0; k < 4; k++) sum += across[k]! * b[from + c + k]!
      lines[r * WINDOW + c] = sum
    }
  }
  const out = new Float64Array(WINDOW * WINDOW)
  for (let r = 0; r < WINDOW; r++)
    for (let c = 0; c < WINDOW; c++) {
      let sum = 0
      for (let k = 0; k < 4; k++) sum += along[k]! * lines[(r + k) * WINDOW + c]!
      out[r * WINDOW + c] = sum
    }
  return out
}

function cubicWeights(t: number): readonly number[] {
  return [
    ((-t + 2) * t - 1) * t * 0.5,
    ((3 * t - 5) * t * t + 2) * 0.5,
    ((-3 * t + 4) * t + 1) * t * 0.5,
    (t - 1) * t * t * 0.5,
  ]
}

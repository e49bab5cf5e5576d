import { type BlockOverview, blockCentre } from './block-overview.js'
import { integralImage } from './integral-image.js'
import type { LightField } from './light-field.js'

/** What is compared: light of both fields, cut at the level both still hold. */
export interface ShiftPlan {
  /** Light, as both fields give it, above which neither is heard: on its way to being clipped. */
  readonly clip: number
}

/** What lies at (column, row) of `a` lies at (column + shift.column, row + shift.row) of `b`. */
export interface RegisteredShift {
  readonly shift: { readonly column: number; readonly row: number }
  /** Standard error of the shift from the residuals, the ratio being unknown as well, px. */
  readonly standard: { readonly column: number; readonly row: number }
  /** Light of `b` over light of `a`, as the pixels between dark and clipped have it. */
  readonly ratio: number
  /** Standard error of ln ratio, from leaving out one window at a time; null for a single window. */
  readonly ratioStandard: number | null
  /** Light of `a` that the ratio was told at: mean of what is not cut, weighted as it is heard. */
  readonly ratioLight: number
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
const LEAST_CONTRAST = 0.015
const MOST_ROUNDS = 12
const SETTLED_PX = 0.002
/** The most that ln ratio moves in one round. */
const LONGEST_RATIO_STEP = 0.4
/** A window must know its own shift to this, px, to be heard on turn and scale. */
const KNOWN_PX = 0.1
/** Shares of the clip level that structure is looked for under: deep marks first, since the brighter picture loses the rest. */
const TRIED_CAPS = [1 / 16, 1 / 4, 0.7]
/** Ratios that can be. */
const RATIO = { least: 0.5, most: 80 }
/** Of the clip level, what a cap is held under, so that noise does not pass it. */
const BELOW_CLIP = 0.95

/** Light as read. */
interface RawWindow {
  readonly column: number
  readonly row: number
  /** With ROOM all round, both. */
  readonly a: Float32Array
  readonly b: Float32Array
}

interface Window {
  readonly column: number
  readonly row: number
  /** Light of `a`, cut and smoothed. WINDOW x WINDOW. */
  readonly a: Float64Array
  /** Light of `b` over the ratio, cut and smoothed, with ROOM all round. */
  readonly b: Float64Array
}

const WIDE = WINDOW + 2 * ROOM

/**
 * Sub-pixel shift and ratio of light between two pictures of one unmoved thing at different exposure. The ratio is first
 * taken from how much of both is as dark as what the brighter still holds; correlation of up to 16 windows with structure
 * gives whole pixels, then shift and ratio are refined together (Lucas & Kanade, IJCAI 1981, with both pictures' gradients
 * and the light itself as the ratio's): a wrong ratio moves opposite edges apart, so neither can be had without the other.
 * Assumes a shift alone: turn and scale between two passes of one carriage are far below a pixel, and `disagreement`
 * tells when they are not. Good to 0.05 px where the windows hold edges on all sides.
 * @param b the brighter
 * @param overview of `a`, through the table `a` reads light by: says where the structure is
 */
export function registerShift(
  a: LightField,
  b: LightField,
  overview: BlockOverview,
  { clip }: ShiftPlan,
): RegisteredShift | NotRegistered {
  if (!(clip > 0)) throw new RangeError(`clip must be above 0; got ${clip}`)
  let nearest = 0
  let blank = true
  const tried = new Set<number>()
  for (const share of TRIED_CAPS) {
    const first = rawWindows(a, b, overview, share * clip)
    if (first.length === 0) continue
    // With the ratio known, structure is looked for under all that both hold.
    const guess = ratioByRank(first, clip)
    const key = Math.round(8 * Math.log(guess))
    if (tried.has(key)) continue
    tried.add(key)
    const cap = capAt(guess, clip)
    const raw = rawWindows(a, b, overview, cap)
    const windows = raw.map(window => cutWindow(window, guess, cap))
    const structured = windows.map(window => contrast(window) > LEAST_CONTRAST * cap)
    const heard = windows.filter((_, i) => structured[i])
    if (heard.length === 0) continue
    blank = false
    const coarse = bestPlace(heard.map(reduced), WINDOW / COARSE, ROOM / COARSE, { column: 0, row: 0 }, ROOM / COARSE)
    nearest = Math.max(nearest, coarse.correlation)
    if (!(coarse.correlation >= LEAST_CORRELATION)) continue
    const near = { column: coarse.column * COARSE, row: coarse.row * COARSE }
    const fine = bestPlace(heard, WINDOW, ROOM, near, COARSE)
    nearest = Math.max(nearest, fine.correlation)
    if (!(fine.correlation >= LEAST_CORRELATION)) continue
    const found = refine(
      raw.filter((_, i) => structured[i]),
      { ...fine, ratio: guess },
      clip,
    )
    if (!('refused' in found)) return found
  }
  return { refused: blank ? 'noStructure' : 'noMatch', correlation: nearest }
}

/** Light of `a` above which either field is cut. */
function capAt(ratio: number, clip: number): number {
  return BELOW_CLIP * Math.min(clip, clip / ratio)
}

/** First pixels of the windows with most structure in both directions, one for each cell of the page. */
function structuredPlaces(
  overview: BlockOverview,
  cap: number,
  scanWidth: number,
  scanHeight: number,
): { column: number; row: number }[] {
  const { columns, rows, blockPx, light } = overview
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
  const lost = integralImage(borderShade(overview, cap), columns, rows)
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
      if (lost.sum(c, r, side, side) > 0) continue
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

/** Darker than this share of the cap is shade. */
const SHADE = 0.5
/** Shade is widened by so many blocks: a holder's edge is no part of the picture, for the picture may lie otherwise against it. */
const SHADE_RIM = 2

/** 1 where dark reaches in from the border of the page, as a holder does, and just beside it. */
export function borderShade({ columns, rows, light }: BlockOverview, cap: number): Float64Array {
  const shade = new Uint8Array(columns * rows)
  const next: number[] = []
  const visit = (c: number, r: number): void => {
    const i = r * columns + c
    if (shade[i] === 1 || !(light[i]! < SHADE * cap)) return
    shade[i] = 1
    next.push(i)
  }
  for (let c = 0; c < columns; c++) for (const r of [0, rows - 1]) visit(c, r)
  for (let r = 0; r < rows; r++) for (const c of [0, columns - 1]) visit(c, r)
  for (let i = next.pop(); i !== undefined; i = next.pop()) {
    const c = i % columns
    const r = (i - c) / columns
    if (c > 0) visit(c - 1, r)
    if (c < columns - 1) visit(c + 1, r)
    if (r > 0) visit(c, r - 1)
    if (r < rows - 1) visit(c, r + 1)
  }
  const wide = new Float64Array(columns * rows)
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      if (shade[r * columns + c] === 0) continue
      for (let y = Math.max(0, r - SHADE_RIM); y <= Math.min(rows - 1, r + SHADE_RIM); y++)
        for (let x = Math.max(0, c - SHADE_RIM); x <= Math.min(columns - 1, c + SHADE_RIM); x++)
          wide[y * columns + x] = 1
    }
  return wide
}

function rawWindows(a: LightField, b: LightField, overview: BlockOverview, cap: number): RawWindow[] {
  const width = Math.min(a.width, b.width)
  const height = Math.min(a.height, b.height)
  return structuredPlaces(overview, cap, width, height).map(({ column, row }) => {
    const rect = { column: column - ROOM, row: row - ROOM, width: WIDE, height: WIDE }
    return { column, row, a: a.read(rect), b: b.read(rect) }
  })
}

/** Every so many pixels are enough to rank. */
const RANK_STRIDE = 3
/** The level ranked at lies within what the brighter holds, and below its brightest flat light. */
const RANK_LEVEL = 0.9
const RANK_TOP = 0.98

/** Ratio from ranks: as many pixels of `a` are darker than a level over the ratio as of `b` are darker than the level. */
function ratioByRank(windows: readonly RawWindow[], clip: number): number {
  const sorted = (key: 'a' | 'b') => {
    const values = new Float32Array(windows.length * Math.ceil((WIDE * WIDE) / RANK_STRIDE))
    let n = 0
    for (const window of windows) for (let i = 0; i < WIDE * WIDE; i += RANK_STRIDE) values[n++] = window[key][i]!
    return values.subarray(0, n).sort()
  }
  const a = sorted('a')
  const b = sorted('b')
  const level = RANK_LEVEL * Math.min(clip, b[Math.floor(RANK_TOP * (b.length - 1))]!)
  let rank = 0
  while (rank < b.length && b[rank]! < level) rank++
  const ratio = level / Math.max(a[Math.min(rank, a.length - 1)]!, 1e-9)
  return Math.min(RATIO.most, Math.max(RATIO.least, ratio))
}

function cutWindow(raw: RawWindow, ratio: number, cap: number): Window {
  return { column: raw.column, row: raw.row, a: smoothed(inner(raw.a, cap), WINDOW), b: cutWide(raw.b, ratio, cap) }
}

/** Light cut at the cap without a kink, which pixels could not follow: its slope falls evenly to nothing. Half the cap at most. */
function bent(light: number, cap: number): number {
  return light < cap ? light * (1 - light / (2 * cap)) : cap / 2
}

/** The middle of a wide window, cut. */
function inner(wide: Float32Array, cap: number): Float64Array {
  const out = new Float64Array(WINDOW * WINDOW)
  for (let r = 0; r < WINDOW; r++)
    for (let c = 0; c < WINDOW; c++) out[r * WINDOW + c] = bent(wide[(r + ROOM) * WIDE + ROOM + c]!, cap)
  return out
}

function cutWide(b: Float32Array, ratio: number, cap: number): Float64Array {
  const out = new Float64Array(b.length)
  for (let i = 0; i < b.length; i++) out[i] = bent(b[i]! / ratio, cap)
  return smoothed(out, WIDE)
}

/** Binomial 1-2-1 both ways: takes the edge off single pixels, so that interpolation between them is honest. */
function smoothed(values: Float64Array, side: number): Float64Array {
  const whole = new Float64Array(values.length)
  // Rows smoothed along themselves: the one above, the row itself and the one below, in turns.
  let above = new Float64Array(side)
  let here = smoothedRow(values, 0, side, new Float64Array(side))
  let below = new Float64Array(side)
  above.set(here)
  for (let r = 0; r < side; r++) {
    if (r + 1 < side) smoothedRow(values, (r + 1) * side, side, below)
    else below.set(here)
    const to = r * side
    for (let c = 0; c < side; c++) whole[to + c] = (above[c]! + 2 * here[c]! + below[c]!) / 4
    ;[above, here, below] = [here, below, above]
  }
  return whole
}

function smoothedRow(
  values: Float64Array,
  from: number,
  side: number,
  out: Float64Array<ArrayBuffer>,
): Float64Array<ArrayBuffer> {
  const last = side - 1
  for (let c = 1; c < last; c++) out[c] = (values[from + c - 1]! + 2 * values[from + c]! + values[from + c + 1]!) / 4
  out[0] = (3 * values[from]! + values[from + 1]!) / 4
  out[last] = (values[from + last - 1]! + 3 * values[from + last]!) / 4
  return out
}

function contrast({ a }: Pick<Window, 'a'>): number {
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

/** Normal equations of one window at a shift and ratio: for column, row and ln ratio; residual variance and correlation. */
interface Pull {
  readonly xx: number
  readonly xy: number
  readonly yy: number
  readonly xq: number
  readonly yq: number
  readonly qq: number
  readonly x: number
  readonly y: number
  readonly q: number
  /** Sum of the third power of light that is not cut. */
  readonly lightCubed: number
  /** Variance of one pixel's residual. */
  readonly variance: number
  readonly correlation: number
}

/** Left out at the window's rim, where there is no gradient. */
const RIM = 2
/** Neighbours are correlated by the smoothing: so many pixels count as one. */
const CORRELATED = 4
/** A ratio that the edges leave open stays where it is. */
const RATIO_RIDGE = 1e-4

function refine(
  raw: readonly RawWindow[],
  start: { column: number; row: number; ratio: number },
  clip: number,
): RegisteredShift | NotRegistered {
  let { column, row } = start
  let logRatio = Math.log(start.ratio)
  const pullsAt = () => raw.map(window => pullAt(window, column, row, Math.exp(logRatio), clip))
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const move = solved(pullsAt())
    if (move === null) return { refused: 'noStructure', correlation: 0 }
    const held = Math.min(1, LONGEST_RATIO_STEP / Math.abs(move.q))
    column += held * move.x
    row += held * move.y
    logRatio += held * move.q
    if (!(Math.abs(column) < ROOM - 3 && Math.abs(row) < ROOM - 3)) return { refused: 'noMatch', correlation: 0 }
    if (!(logRatio > Math.log(RATIO.least / 2) && logRatio < Math.log(2 * RATIO.most)))
      return { refused: 'noMatch', correlation: 0 }
    if (Math.hypot(move.x, move.y) < SETTLED_PX && Math.abs(move.q) < SETTLED_PX) break
  }
  const pulls = pullsAt()
  const correlations = pulls.map(p => p.correlation).sort((p, q) => p - q)
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
  const settled = solved(pulls)
  if (settled === null) return { refused: 'noStructure', correlation: 0 }
  const heard = pulls.reduce((sum, p) => sum + p.qq, 0)
  return {
    shift: { column, row },
    standard: {
      column: Math.sqrt(CORRELATED * variance * settled.xVariance),
      row: Math.sqrt(CORRELATED * variance * settled.yVariance),
    },
    ratio: Math.exp(logRatio),
    ratioStandard: jackknife(pulls),
    ratioLight: pulls.reduce((sum, p) => sum + p.lightCubed, 0) / heard,
    correlation: correlations[correlations.length >> 1]!,
    disagreement,
    windows: raw.map(({ column, row }) => ({ column, row })),
    windowPx: WINDOW,
  }
}

/** Scatter of ln ratio when one window after the other is left out (Tukey, Ann. Math. Stat. 29, 614, 1958; from memory). */
function jackknife(pulls: readonly Pull[]): number | null {
  const left = pulls.flatMap((_, i) => solved(pulls.filter((_, j) => j !== i))?.q ?? [])
  if (left.length < 2) return null
  const mean = left.reduce((sum, q) => sum + q, 0) / left.length
  const squares = left.reduce((sum, q) => sum + (q - mean) ** 2, 0)
  return Math.sqrt((squares * (left.length - 1)) / left.length)
}

const SUMMED = ['xx', 'xy', 'yy', 'xq', 'yq', 'qq', 'x', 'y', 'q'] as const

/** Least-squares move of column, row and ln ratio, and the variances of the shift for residuals of 1. */
function solved(
  pulls: readonly Pull[],
): { x: number; y: number; q: number; xVariance: number; yVariance: number } | null {
  const sum = { xx: 0, xy: 0, yy: 0, xq: 0, yq: 0, qq: 0, x: 0, y: 0, q: 0 }
  for (const pull of pulls) for (const key of SUMMED) sum[key] += pull[key]
  const { xq, yq, x, y, q } = sum
  // Edges of one direction alone leave the shift along them open.
  if (!(sum.xx * sum.yy - sum.xy * sum.xy > 1e-3 * (sum.xx + sum.yy) ** 2)) return null
  const qq = sum.qq * (1 + RATIO_RIDGE)
  if (!(qq > 0)) return null
  // The ratio is taken out, the shift solved, the ratio put back.
  const xx = sum.xx - (xq * xq) / qq
  const xy = sum.xy - (xq * yq) / qq
  const yy = sum.yy - (yq * yq) / qq
  const bx = x - (xq * q) / qq
  const by = y - (yq * q) / qq
  const determinant = xx * yy - xy * xy
  if (!(determinant > 1e-6 * (sum.xx + sum.yy) ** 2)) return null
  const moveX = (yy * bx - xy * by) / determinant
  const moveY = (xx * by - xy * bx) / determinant
  return {
    x: moveX,
    y: moveY,
    q: (q - xq * moveX - yq * moveY) / qq,
    xVariance: yy / determinant,
    yVariance: xx / determinant,
  }
}

function pullAt(raw: RawWindow, shiftColumn: number, shiftRow: number, ratio: number, clip: number): Pull {
  const cap = capAt(ratio, clip)
  // Both are moved half of the fraction towards each other: interpolation blurs, and must blur both alike.
  const whole = { column: Math.round(shiftColumn), row: Math.round(shiftRow) }
  const half = { column: (shiftColumn - whole.column) / 2, row: (shiftRow - whole.row) / 2 }
  const first = warp(cutWide(raw.a, 1, cap), -half.column, -half.row)
  const second = warp(cutWide(raw.b, ratio, cap), whole.column + half.column, whole.row + half.row)
  // What the ratio moves: light that is not cut. Whole pixels will do for a derivative.
  const moved = new Float64Array(WINDOW * WINDOW)
  const wholeColumn = ROOM + whole.column
  const wholeRow = ROOM + whole.row
  for (let r = 0; r < WINDOW; r++)
    for (let c = 0; c < WINDOW; c++) {
      const light = raw.b[(r + wholeRow) * WIDE + wholeColumn + c]! / ratio
      moved[r * WINDOW + c] = light < cap ? -light * (1 - light / cap) : 0
    }
  const third = smoothed(moved, WINDOW)
  let xx = 0
  let xy = 0
  let yy = 0
  let xq = 0
  let yq = 0
  let qq = 0
  let x = 0
  let y = 0
  let q = 0
  let lightCubed = 0
  let squares = 0
  let sa = 0
  let sb = 0
  let saa = 0
  let sbb = 0
  let sab = 0
  let count = 0
  for (let r = RIM; r < WINDOW - RIM; r++)
    for (let c = RIM; c < WINDOW - RIM; c++) {
      const i = r * WINDOW + c
      const gx = (first[i + 1]! - first[i - 1]! + second[i + 1]! - second[i - 1]!) / 4
      const gy = (first[i + WINDOW]! - first[i - WINDOW]! + second[i + WINDOW]! - second[i - WINDOW]!) / 4
      const gq = third[i]!
      const a = first[i]!
      const b = second[i]!
      const off = a - b
      xx += gx * gx
      xy += gx * gy
      yy += gy * gy
      xq += gx * gq
      yq += gy * gq
      qq += gq * gq
      x += gx * off
      y += gy * off
      q += gq * off
      lightCubed -= gq * gq * gq
      squares += off * off
      sa += a
      sb += b
      saa += a * a
      sbb += b * b
      sab += a * b
      count++
    }
  const va = saa - (sa * sa) / count
  const vb = sbb - (sb * sb) / count
  const correlation = va > 0 && vb > 0 ? (sab - (sa * sb) / count) / Math.sqrt(va * vb) : 0
  return { xx, xy, yy, xq, yq, qq, x, y, q, lightCubed, variance: squares / count, correlation }
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

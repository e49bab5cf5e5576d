import type { PixelPoint } from '../model/geometry.js'
import { fitPolynomial, polynomial } from './fit-polynomial.js'
import type { LightField } from './light-field.js'
import { median, robustDeviation } from './robust.js'
import type { StraightEdge } from './straight-edges.js'

/** A super-sampled edge-spread function with the line it was projected along. Distances in um along the normal, positive towards the clear side. */
export interface EdgeSpread {
  readonly from: PixelPoint
  readonly to: PixelPoint
  readonly direction: 'across' | 'along'
  /** Angle between edge and pixel grid, degrees, 0..45. */
  readonly tilt: number
  readonly lengthUm: number
  /** Mean distance and mean light of the filled bins, rising distance. */
  readonly distance: Float64Array
  readonly light: Float64Array
  /** Pixels in each bin. */
  readonly count: Float64Array
  readonly binUm: number
  /** Pixel pitch across the edge, um. */
  readonly pitchUm: number
  readonly clear: number
  readonly dark: number
  /** Standard deviation of one pixel on the clear and the dark plateau. */
  readonly clearNoise: number
  readonly darkNoise: number
  /** Share of the eighth-pixel phases next to the edge that hold pixels, 0..1. */
  readonly phaseCoverage: number
  /** Greatest departure of the fitted centre line from its chord, um. */
  readonly sagUm: number
  /** Order of the polynomial that `shifts` are told against: 1, or 2 on an edge that bends. */
  readonly order: number
  /** Scan lines used, and those left out as dust or damage. */
  readonly lines: number
  readonly linesLeftOut: number
  /** Shift of each used scan line against its straight line or simple bend, not against what follows its wander, um along the normal, with the standard error noise explains. */
  readonly shifts: Float64Array
  readonly shiftErrors: Float64Array
  /** False when the light still changes where the plateau is read: the edge is wider than the room beside it. */
  readonly plateauReached: boolean
}

export interface RefusedEdge {
  readonly refused: string
}

/** Eighth-pixel bins: ISO 12233:2014, 6.2 takes four a pixel; eight widen the profile a quarter as much (bin variance). */
const BINS_PER_PIXEL = 8
/** Fewer scan lines than this fill the bins too thinly to fit a line through. */
const FEWEST_LINES = 16
/** The plateau is read from this share of the reach outwards. */
const PLATEAU_FROM = 0.6
/** A plateau whose halves differ by more than this share of the change is not flat. */
const PLATEAU_FLAT_WITHIN = 0.006
/** A film that bends on the glass does so evenly: what a higher order takes is the edge's own wander. */
const MOST_BEND_ORDER = 2
/** A line further off than this many robust deviations is dust or damage. */
const LINE_OUTLIER = 5

interface Lines {
  /** Light of line j from pixel `first[j]`, all lines concatenated; start[j]..start[j + 1]. */
  readonly light: Float32Array
  readonly start: Int32Array
  readonly first: Int32Array
  /** Place of line j along the edge, um. */
  readonly v: Float64Array
  readonly pitch: number
}

/**
 * Super-samples one straight edge: every pixel near it is projected along the fitted edge line onto its normal
 * and collected in eighth-pixel bins (ISO 12233:2014, 6.2; ISO 16067-2:2004 manner), on linear light.
 * The line is found per scan line from the light summed across the edge, then refined by shifting each scan line
 * onto the common profile; a significantly curved edge is followed by a polynomial of up to fifth order and its sag reported.
 * @param reach how far from the edge to read on each side, um
 */
export function superSampleEdge(
  field: LightField,
  edge: StraightEdge,
  reach: { readonly clearUm: number; readonly darkUm: number },
): EdgeSpread | RefusedEdge {
  const acrossEdge = edge.direction === 'across'
  const pitchU = acrossEdge ? field.umPerPixel.across : field.umPerPixel.along
  const pitchV = acrossEdge ? field.umPerPixel.along : field.umPerPixel.across
  const u = (p: PixelPoint) => (acrossEdge ? p.column : p.row) * pitchU
  const v = (p: PixelPoint) => (acrossEdge ? p.row : p.column) * pitchV
  const [start, end] = v(edge.from) <= v(edge.to) ? [edge.from, edge.to] : [edge.to, edge.from]
  const slope0 = (u(end) - u(start)) / (v(end) - v(start))
  const sign = edge.clearSide === 'after' ? 1 : -1
  const middle = (v(start) + v(end)) / 2
  const half = (v(end) - v(start)) / 2

  const lines = readLines(field, acrossEdge, { u0: u(start), v0: v(start), v1: v(end), slope: slope0 }, sign, reach)
  if (lines === null || lines.v.length < FEWEST_LINES) return { refused: 'the edge lies too near the rim of the scan' }
  const n = lines.v.length
  const scaled = Float64Array.from(lines.v, value => (value - middle) / half)

  // First line: from the light summed across the edge, which blur does not move.
  let coefficients = [(u(start) + u(end)) / 2, slope0 * half]
  const weights = new Float64Array(n).fill(1)
  const cosine = () => 1 / Math.hypot(1, coefficients[1]! / half)
  let plateaus = readPlateaus(lines, scaled, coefficients, sign, cosine(), reach)
  const change = plateaus.clear - plateaus.dark
  if (!(change > 6 * Math.max(plateaus.clearNoise, plateaus.darkNoise) && change > 0))
    return { refused: 'the two sides of the edge are not told apart' }
  const centres = new Float64Array(n)
  for (let j = 0; j < n; j++) centres[j] = areaCentre(lines, j, sign, plateaus.clear, plateaus.dark)
  coefficients = robustFit(scaled, centres, weights, 1)

  // Then every line is shifted onto the common profile; the profile sharpens as the line does.
  let order = 1
  let shifts = new Float64Array(n)
  let errors = new Float64Array(n)
  for (let round = 0; round < 4; round++) {
    const bins = bin(lines, scaled, coefficients, sign, cosine(), reach, weights)
    const profile = smoothProfile(bins, plateaus, reach)
    ;({ shifts, errors } = shiftLines(lines, scaled, coefficients, sign, cosine(), profile, plateaus))
    for (let j = 0; j < n; j++) centres[j] = polynomial(coefficients, scaled[j]!) + (sign * shifts[j]!) / cosine()
    // A coarse scan may step over a sharp edge: a line without a pixel on the slope says nothing of the place.
    for (let j = 0; j < n; j++) weights[j] = Number.isFinite(errors[j]!) ? 1 : 0
    if (!(weights.filter(w => w > 0).length >= FEWEST_LINES))
      return { refused: 'the scan is too coarse for so sharp an edge' }
    if (round === 1) order = curvatureOrder(scaled, centres, errors)
    coefficients = robustFit(scaled, centres, weights, order)
  }
  const leftOut = weights.reduce((sum, w, j) => sum + (w > 0 || !Number.isFinite(errors[j]!) ? 0 : 1), 0)
  for (let j = 0; j < n; j++) if (!Number.isFinite(errors[j]!)) weights[j] = 1
  if (leftOut > n / 4) return { refused: 'the edge is ragged or damaged along more than a quarter of its length' }

  const c = cosine()
  plateaus = readPlateaus(lines, scaled, coefficients, sign, c, reach)
  const bins = bin(lines, scaled, coefficients, sign, c, reach, weights)
  // A line of higher order may follow slow wander, which is not bend.
  const simple =
    order > MOST_BEND_ORDER ? robustFit(scaled, centres, Float64Array.from(weights), MOST_BEND_ORDER) : coefficients
  const used: number[] = []
  const usedErrors: number[] = []
  for (let j = 0; j < n; j++) {
    if (!(weights[j]! > 0 && Number.isFinite(errors[j]!))) continue
    used.push((centres[j]! - polynomial(simple, scaled[j]!)) * sign * c)
    usedErrors.push(errors[j]!)
  }
  const atEnd = (where: number): PixelPoint => {
    const uHere = polynomial(coefficients, where) / pitchU
    const vHere = (middle + where * half) / pitchV
    return acrossEdge ? { column: uHere, row: vHere } : { column: vHere, row: uHere }
  }
  const tan = (polynomial(coefficients, 1) - polynomial(coefficients, -1)) / (2 * half)
  return {
    from: atEnd(-1),
    to: atEnd(1),
    direction: edge.direction,
    tilt: (Math.atan(Math.abs(tan)) * 180) / Math.PI,
    lengthUm: 2 * half * Math.hypot(1, tan),
    ...bins,
    binUm: (pitchU * c) / BINS_PER_PIXEL,
    pitchUm: pitchU,
    clear: plateaus.clear,
    dark: plateaus.dark,
    clearNoise: plateaus.clearNoise,
    darkNoise: plateaus.darkNoise,
    phaseCoverage: phaseCoverage(bins, (pitchU * c) / BINS_PER_PIXEL),
    sagUm: sag(coefficients) * c,
    order: Math.min(order, MOST_BEND_ORDER),
    lines: n - leftOut,
    linesLeftOut: leftOut,
    shifts: Float64Array.from(used),
    shiftErrors: Float64Array.from(usedErrors),
    plateauReached: plateaus.flat,
  }
}

function readLines(
  field: LightField,
  acrossEdge: boolean,
  line: { u0: number; v0: number; v1: number; slope: number },
  sign: number,
  reach: { clearUm: number; darkUm: number },
): Lines | null {
  const pitchU = acrossEdge ? field.umPerPixel.across : field.umPerPixel.along
  const pitchV = acrossEdge ? field.umPerPixel.along : field.umPerPixel.across
  const lengthU = acrossEdge ? field.width : field.height
  const lengthV = acrossEdge ? field.height : field.width
  const stretch = Math.hypot(1, line.slope)
  const before = ((sign > 0 ? reach.darkUm : reach.clearUm) * stretch) / pitchU
  const after = ((sign > 0 ? reach.clearUm : reach.darkUm) * stretch) / pitchU
  const firstLine = Math.ceil(line.v0 / pitchV)
  const lastLine = Math.floor(line.v1 / pitchV)
  const from: number[] = []
  const to: number[] = []
  const kept: number[] = []
  for (let j = firstLine; j <= lastLine; j++) {
    const at = (line.u0 + line.slope * (j * pitchV - line.v0)) / pitchU
    // A line cut by the rim of the scan still serves while half its reach is there on both sides.
    const a = Math.max(0, Math.ceil(at - before))
    const b = Math.min(lengthU - 1, Math.floor(at + after))
    if (!(j >= 0 && j < lengthV && at - a >= before / 2 && b - at >= after / 2)) continue
    kept.push(j)
    from.push(a)
    to.push(b + 1)
  }
  if (kept.length === 0) return null
  const start = new Int32Array(kept.length + 1)
  for (let k = 0; k < kept.length; k++) start[k + 1] = start[k]! + to[k]! - from[k]!
  const light = new Float32Array(start[kept.length]!)
  // Read in pieces, so that a long tilted edge does not ask for one huge window.
  const PIECE = 512
  for (let p = 0; p < kept.length; p += PIECE) {
    const q = Math.min(kept.length, p + PIECE)
    let a = from[p]!
    let b = to[p]!
    for (let k = p; k < q; k++) {
      a = Math.min(a, from[k]!)
      b = Math.max(b, to[k]!)
    }
    const v0 = kept[p]!
    const v1 = kept[q - 1]! + 1
    const rect = acrossEdge
      ? { column: a, row: v0, width: b - a, height: v1 - v0 }
      : { column: v0, row: a, width: v1 - v0, height: b - a }
    const window = field.read(rect)
    for (let k = p; k < q; k++)
      for (let i = from[k]!; i < to[k]!; i++)
        light[start[k]! + i - from[k]!] = acrossEdge
          ? window[(kept[k]! - v0) * rect.width + (i - a)]!
          : window[(i - a) * rect.width + (kept[k]! - v0)]!
  }
  return { light, start, first: Int32Array.from(from), v: Float64Array.from(kept, j => j * pitchV), pitch: pitchU }
}

interface Plateaus {
  clear: number
  dark: number
  clearNoise: number
  darkNoise: number
  flat: boolean
}

/** Pixels looked at to tell what is usual on a plateau; the mean is then over all pixels that are. */
const PLATEAU_SAMPLES = 3000
/** Pixels further from the usual than this many robust deviations are dust. */
const PLATEAU_DUST = 6

function readPlateaus(
  lines: Lines,
  scaled: Float64Array,
  coefficients: readonly number[],
  sign: number,
  cosine: number,
  reach: { clearUm: number; darkUm: number },
): Plateaus {
  const clear = onePlateau(lines, scaled, coefficients, sign * cosine, reach.clearUm)
  const dark = onePlateau(lines, scaled, coefficients, -sign * cosine, reach.darkUm)
  return {
    clear: clear.mean,
    dark: dark.mean,
    clearNoise: clear.noise,
    darkNoise: dark.noise,
    flat: Math.max(clear.step, dark.step) <= PLATEAU_FLAT_WITHIN * (clear.mean - dark.mean),
  }
}

/** Mean, pixel noise and slope (far half less near half) of the side on which `signedCosine x (u - centre)` is positive. */
function onePlateau(
  lines: Lines,
  scaled: Float64Array,
  coefficients: readonly number[],
  signedCosine: number,
  reachUm: number,
): { mean: number; noise: number; step: number } {
  const { pitch, light, first, start } = lines
  const ranges: [number, number, number][] = []
  let pixels = 0
  for (let j = 0; j < scaled.length; j++) {
    const centre = polynomial(coefficients, scaled[j]!)
    const bound = (d: number) => (centre + d / signedCosine) / pitch - first[j]!
    const [a, split, b] = [bound(PLATEAU_FROM * reachUm), bound(((1 + PLATEAU_FROM) / 2) * reachUm), bound(reachUm)]
    const from = Math.max(0, Math.ceil(Math.min(a, b)))
    const to = Math.min(start[j + 1]! - start[j]!, Math.floor(Math.max(a, b)) + 1)
    if (!(to > from)) continue
    ranges.push([start[j]! + from, start[j]! + to, start[j]! + split])
    pixels += to - from
  }
  if (pixels < 8) return { mean: Number.NaN, noise: Number.NaN, step: 0 }
  const every = Math.max(1, Math.floor(pixels / PLATEAU_SAMPLES))
  const sample: number[] = []
  let turn = 0
  for (const [from, to] of ranges) {
    let i = from + ((every - (turn % every)) % every)
    for (; i < to; i += every) sample.push(light[i]!)
    turn += to - from
  }
  const usual = median(sample)
  const noise = robustDeviation(sample)
  const within = PLATEAU_DUST * Math.max(noise, 1e-6)
  const sums = [0, 0]
  const counts = [0, 0]
  for (const [from, to, split] of ranges)
    for (let i = from; i < to; i++) {
      if (!(Math.abs(light[i]! - usual) <= within)) continue
      const far = i > split === signedCosine > 0 ? 1 : 0
      sums[far]! += light[i]!
      counts[far]! += 1
    }
  return {
    mean: (sums[0]! + sums[1]!) / Math.max(1, counts[0]! + counts[1]!),
    noise,
    step: Math.abs(sums[1]! / Math.max(1, counts[1]!) - sums[0]! / Math.max(1, counts[0]!)),
  }
}

/** Where a step of the same plateaus would have to stand to pass the same light. */
function areaCentre(lines: Lines, j: number, sign: number, clear: number, dark: number): number {
  let missing = 0
  const { light } = lines
  const from = lines.start[j]!
  const to = lines.start[j + 1]!
  for (let i = from; i < to; i++) missing += (clear - light[i]!) / (clear - dark)
  const first = lines.first[j]!
  return sign > 0 ? (first - 0.5 + missing) * lines.pitch : (first + (to - from) - 0.5 - missing) * lines.pitch
}

/** Polynomial through the line centres of weight 1; outliers among them get weight 0 (in `weights`), three rounds. */
function robustFit(x: Float64Array, y: Float64Array, weights: Float64Array, order: number): number[] {
  const n = weights.length
  const allowed = new Uint8Array(n)
  for (let i = 0; i < n; i++) allowed[i] = weights[i]! > 0 ? 1 : 0
  const off = new Float64Array(n)
  const told = new Float64Array(n)
  let coefficients = fitPolynomial(x, y, weights, order)
  for (let round = 0; round < 3; round++) {
    let count = 0
    for (let i = 0; i < n; i++) {
      off[i] = y[i]! - polynomial(coefficients, x[i]!)
      if (allowed[i] === 1) told[count++] = off[i]!
    }
    const spread = Math.max(robustDeviation(told.subarray(0, count)), 1e-6)
    for (let i = 0; i < n; i++) weights[i] = allowed[i] === 1 && Math.abs(off[i]!) <= LINE_OUTLIER * spread ? 1 : 0
    coefficients = fitPolynomial(x, y, weights, order)
  }
  return coefficients
}

/**
 * Order of the centre line: raised while it explains more than chance would, judged by the Bayesian information criterion
 * (Schwarz, Ann. Statist. 6, 461, 1978; from memory) with a margin, and only when the bend is larger than noise.
 */
function curvatureOrder(x: Float64Array, y: Float64Array, errors: Float64Array): number {
  const finite = errors.map(e => (Number.isFinite(e) ? 1 : 0))
  const noise = median(errors.filter(e => Number.isFinite(e)))
  let best = { order: 1, score: Number.POSITIVE_INFINITY }
  for (const order of [1, 2, 3, 5]) {
    const weights = finite.slice()
    const coefficients = robustFit(x, y, weights, order)
    let sum = 0
    let n = 0
    for (let i = 0; i < x.length; i++) {
      if (!(weights[i]! > 0)) continue
      sum += (y[i]! - polynomial(coefficients, x[i]!)) ** 2
      n++
    }
    const score = n * Math.log(Math.max(sum / n, noise ** 2 * 0.25, 1e-12)) + 3 * order * Math.log(n)
    if (score < best.score) best = { order, score }
  }
  return best.order
}

function sag(coefficients: readonly number[]): number {
  const a = polynomial(coefficients, -1)
  const b = polynomial(coefficients, 1)
  let worst = 0
  for (let t = -1; t <= 1; t += 0.05)
    worst = Math.max(worst, Math.abs(polynomial(coefficients, t) - (a + ((b - a) * (t + 1)) / 2)))
  return worst
}

interface Bins {
  distance: Float64Array
  light: Float64Array
  count: Float64Array
}

function bin(
  lines: Lines,
  scaled: Float64Array,
  coefficients: readonly number[],
  sign: number,
  cosine: number,
  reach: { clearUm: number; darkUm: number },
  weights: Float64Array,
): Bins {
  const width = (lines.pitch * cosine) / BINS_PER_PIXEL
  const bins = Math.ceil((reach.clearUm + reach.darkUm) / width) + 1
  const d = new Float64Array(bins)
  const t = new Float64Array(bins)
  const n = new Float64Array(bins)
  const { light, start, first, pitch } = lines
  const { darkUm } = reach
  for (let j = 0; j < scaled.length; j++) {
    if (!(weights[j]! > 0)) continue
    const centre = polynomial(coefficients, scaled[j]!)
    const from = start[j]!
    const to = start[j + 1]!
    const column = first[j]! - from
    for (let i = from; i < to; i++) {
      const at = sign * ((column + i) * pitch - centre) * cosine
      const k = Math.floor((at + darkUm) / width)
      if (k < 0 || k >= bins) continue
      d[k]! += at
      t[k]! += light[i]!
      n[k]! += 1
    }
  }
  // Those that were filled, side by side.
  let filled = 0
  for (let k = 0; k < bins; k++) {
    if (!(n[k]! > 0)) continue
    d[filled] = d[k]! / n[k]!
    t[filled] = t[k]! / n[k]!
    n[filled++] = n[k]!
  }
  return { distance: d.slice(0, filled), light: t.slice(0, filled), count: n.slice(0, filled) }
}

/** The profile on an even grid with its slope: local quadratic over about a pixel (Savitzky & Golay manner). */
interface Profile {
  from: number
  step: number
  light: Float64Array
  slope: Float64Array
}

function smoothProfile(bins: Bins, plateaus: Plateaus, reach: { clearUm: number; darkUm: number }): Profile {
  const step = (reach.clearUm + reach.darkUm) / 800
  const light = new Float64Array(801)
  const slope = new Float64Array(801)
  // Half-window: most of a pixel, found from the bins themselves since sparse phases leave gaps.
  let gap = 0
  for (let k = 1; k < bins.distance.length; k++) gap = Math.max(gap, bins.distance[k]! - bins.distance[k - 1]!)
  const half = Math.max(2.6 * ((bins.distance.at(-1)! - bins.distance[0]!) / (bins.distance.length - 1)), 1.6 * gap)
  let low = 0
  for (let k = 0; k <= 800; k++) {
    const at = -reach.darkUm + k * step
    while (low < bins.distance.length && bins.distance[low]! < at - half) low++
    const local = localQuadratic(bins, at, half, low)
    light[k] = local?.value ?? (at > 0 ? plateaus.clear : plateaus.dark)
    slope[k] = local?.slope ?? 0
  }
  return { from: -reach.darkUm, step, light, slope }
}

/** Value and slope at `at` of the quadratic fitted to the bins within `half`, weighted by count and nearness. */
function localQuadratic(
  bins: Bins,
  at: number,
  half: number,
  low: number,
): { value: number; slope: number } | undefined {
  let s0 = 0
  let s1 = 0
  let s2 = 0
  let s3 = 0
  let s4 = 0
  let y0 = 0
  let y1 = 0
  let y2 = 0
  let points = 0
  for (let k = low; k < bins.distance.length && bins.distance[k]! <= at + half; k++) {
    const x = (bins.distance[k]! - at) / half
    const w = bins.count[k]! * (1 - x * x)
    if (!(w > 0)) continue
    points++
    const wx = w * x
    const wxx = wx * x
    s0 += w
    s1 += wx
    s2 += wxx
    s3 += wxx * x
    s4 += wxx * x * x
    y0 += w * bins.light[k]!
    y1 += wx * bins.light[k]!
    y2 += wxx * bins.light[k]!
  }
  if (points < 3) return undefined
  const det = s0 * (s2 * s4 - s3 * s3) - s1 * (s1 * s4 - s3 * s2) + s2 * (s1 * s3 - s2 * s2)
  if (!(Math.abs(det) > 1e-9 * s0 ** 3)) {
    const line = s0 * s2 - s1 * s1
    if (!(line > 1e-9 * s0 * s0)) return undefined
    return { value: (y0 * s2 - y1 * s1) / line, slope: (s0 * y1 - s1 * y0) / line / half }
  }
  const value = (y0 * (s2 * s4 - s3 * s3) - s1 * (y1 * s4 - y2 * s3) + s2 * (y1 * s3 - y2 * s2)) / det
  const slope = (s0 * (y1 * s4 - s3 * y2) - y0 * (s1 * s4 - s3 * s2) + s2 * (s1 * y2 - y1 * s2)) / det
  return { value, slope: slope / half }
}

function shiftLines(
  lines: Lines,
  scaled: Float64Array,
  coefficients: readonly number[],
  sign: number,
  cosine: number,
  profile: Profile,
  plateaus: Plateaus,
): { shifts: Float64Array<ArrayBuffer>; errors: Float64Array<ArrayBuffer> } {
  const n = scaled.length
  const shifts = new Float64Array(n)
  const errors = new Float64Array(n)
  const change = plateaus.clear - plateaus.dark
  // The 60 % contour (ISO/IEC 13660 manner) with room on both sides; the plateaus carry noise but no place.
  const low = plateaus.dark + 0.1 * change
  const high = plateaus.dark + 0.7 * change
  const { light, start, first, pitch } = lines
  // Only where the profile may lie between the two is there anything to do; a step to either side for rounding.
  const within = (k: number) => profile.light[k]! > low && profile.light[k]! < high
  let firstStep = 0
  while (firstStep < profile.light.length && !within(firstStep)) firstStep++
  let lastStep = profile.light.length - 1
  while (lastStep > firstStep && !within(lastStep)) lastStep--
  for (let j = 0; j < n; j++) {
    const centre = polynomial(coefficients, scaled[j]!)
    let top = 0
    let bottom = 0
    let noise = 0
    const column = first[j]! - start[j]!
    const place = (k: number) => ((profile.from + k * profile.step) / cosine / sign + centre) / pitch - column
    const [a, b] = [place(firstStep - 2), place(lastStep + 2)]
    const to = Math.min(start[j + 1]!, Math.ceil(Math.max(a, b)) + 1)
    for (let i = Math.max(start[j]!, Math.floor(Math.min(a, b))); i < to; i++) {
      const at = sign * ((column + i) * pitch - centre) * cosine
      const k = (at - profile.from) / profile.step
      const whole = Math.floor(k)
      if (whole < 0 || whole >= profile.light.length - 1) continue
      const part = k - whole
      const expected = profile.light[whole]! * (1 - part) + profile.light[whole + 1]! * part
      if (!(expected > low && expected < high)) continue
      const slope = profile.slope[whole]! * (1 - part) + profile.slope[whole + 1]! * part
      const share = (expected - plateaus.dark) / change
      const sigma = plateaus.darkNoise + (plateaus.clearNoise - plateaus.darkNoise) * share
      top += (expected - light[i]!) * slope
      bottom += slope * slope
      noise += (sigma * slope) ** 2
    }
    shifts[j] = bottom > 0 ? top / bottom : 0
    errors[j] = bottom > 0 ? Math.sqrt(noise) / bottom : Number.POSITIVE_INFINITY
  }
  return { shifts, errors }
}

function phaseCoverage(bins: Bins, binUm: number): number {
  let filled = 0
  for (const d of bins.distance) if (Math.abs(d) <= 2 * BINS_PER_PIXEL * binUm) filled++
  return Math.min(1, filled / (4 * BINS_PER_PIXEL))
}

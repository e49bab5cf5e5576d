import { layout, reusedLoops } from '../kernels/profile-loops.js'
import type { LightField } from './light-field.js'

/** Which pixels are read: along each scan line across the edge, from the line `u0 + slope (v - v0)`, um; `v1` is where it ends. */
export interface EdgeWindow {
  readonly acrossEdge: boolean
  readonly u0: number
  readonly v0: number
  readonly v1: number
  readonly slope: number
  /** 1 when the clear side follows the dark one along growing columns or rows, else -1. */
  readonly sign: number
}

export interface EdgeReach {
  readonly clearUm: number
  readonly darkUm: number
}

export interface EdgeLevels {
  readonly clear: number
  readonly dark: number
  readonly clearNoise: number
  readonly darkNoise: number
}

/** Mean distance, mean light and number of pixels of the bins that were filled; views that the next call writes over. */
export interface EdgeBins {
  readonly distance: Float64Array
  readonly light: Float64Array
  readonly count: Float64Array
}

/** An even grid of distances, um. */
export interface ProfileGrid {
  readonly from: number
  readonly step: number
}

/** The scan lines across one edge in the memory of the compiled loops. The arrays are views that the calls read and write. */
export interface EdgeLines {
  readonly n: number
  /** Pixel pitch across the edge, um. */
  readonly pitch: number
  /** Where the edge stands on each line, um, and whether that counts (0 or 1). */
  readonly centres: Float64Array
  readonly weights: Float64Array
  /** Shift of each line against the common profile and its standard error, um along the normal. */
  readonly shifts: Float64Array
  readonly errors: Float64Array
  /** Places along the edge, um as read, scaled to -1..1 for the polynomials below. */
  scaleAlong(middle: number, half: number): void
  /** Centres by the light summed across each line. */
  areaCentres(sign: number, clear: number, dark: number): void
  /** Polynomial of `centres` over `along`; outliers get weight 0. @throws RangeError when too few lines carry weight */
  robustFit(order: number, outlier: number): number[]
  /** The line on which the calls below take the edge to lie. */
  placeAt(coefficients: readonly number[]): void
  /** One side: mean, noise of a pixel, far half less near half. `distances`: where it begins, is halved and ends, um. */
  plateau(
    signedCosine: number,
    distances: readonly [number, number, number],
    limits: { readonly samples: number; readonly dust: number },
  ): { mean: number; noise: number; step: number }
  bin(sign: number, cosine: number, reach: EdgeReach, width: number): EdgeBins
  /** The binned profile on an even grid, with its slope. */
  smooth(filled: number, grid: ProfileGrid, half: number, levels: EdgeLevels): void
  /** Widest gap between neighbouring bins, um. */
  widestGap(filled: number): number
  /** Each line shifted onto the smoothed profile. */
  shift(grid: ProfileGrid, sign: number, cosine: number, levels: EdgeLevels): void
  /** Centres from the shifts, from where the edge was taken to lie; a line whose shift is not known gets weight 0, the others 1. @returns how many are known */
  takeShifts(sign: number, cosine: number): number
  /** Sum of squared departures of `centres` from a polynomial over the lines that count, and how many those are. */
  squaredAbout(coefficients: readonly number[]): { sum: number; used: number }
  /** Median of the standard errors that are known. */
  usualError(): number
  /** A line whose shift is not known gets its weight back. @returns how many are left out as outliers */
  leftOut(): number
  /** Departures from a polynomial, um along the normal times `factor`, and their standard errors: of the lines that count and whose shift is known. */
  departures(coefficients: readonly number[], factor: number): { shifts: Float64Array; errors: Float64Array }
}

/** Points of the smoothed profile. */
export const PROFILE_POINTS = 801
/** Room for bins of this many to a pixel on an edge at 60 degrees to its scan lines' normal; none lies beyond 45. */
const MOST_BINS_PER_PIXEL = 16
const HIGHEST_ORDER = 5
/** Twice what is asked for, as sampling takes every n-th pixel. */
const MOST_SAMPLES = 6016
/** Read in pieces, so that a long tilted edge does not ask for one huge window. */
const PIECE = 512

const loopsOf = reusedLoops()

/** Reads the pixels near an edge, in place of those read before; null when no line of it lies far enough from the rim of the scan. */
export function readEdgeLines(field: LightField, window: EdgeWindow, reach: EdgeReach): EdgeLines | null {
  const { acrossEdge, sign } = window
  const pitch = acrossEdge ? field.umPerPixel.across : field.umPerPixel.along
  const pitchV = acrossEdge ? field.umPerPixel.along : field.umPerPixel.across
  const low = Math.ceil(window.v0 / pitchV)
  const high = Math.floor(window.v1 / pitchV)
  const most = Math.max(0, high - low + 1)
  const stretch = Math.hypot(1, window.slope)
  const before = ((sign > 0 ? reach.darkUm : reach.clearUm) * stretch) / pitch
  const after = ((sign > 0 ? reach.clearUm : reach.darkUm) * stretch) / pitch
  const slope = (window.slope * pitchV) / pitch
  const mostAcross = Math.ceil(before + after) + 2

  const places = layout()
  const bins = Math.ceil((MOST_BINS_PER_PIXEL * (reach.clearUm + reach.darkUm)) / pitch) + 2
  const at = {
    window: places.f32(Math.min(PIECE, most) * (mostAcross + Math.ceil(Math.abs(slope) * PIECE) + 1)),
    light: places.f32(most * mostAcross),
    lines: places.i32(most),
    first: places.i32(most),
    start: places.i32(most + 1),
    along: places.f64(most),
    centres: places.f64(most),
    weights: places.f64(most),
    shifts: places.f64(most),
    errors: places.f64(most),
    line: places.f64(most),
    coefficients: places.f64(HIGHEST_ORDER + 1),
    placed: places.f64(HIGHEST_ORDER + 1),
    told: places.f64(3),
    work: places.f64(3 * most + MOST_SAMPLES),
    distances: places.f64(bins),
    lights: places.f64(bins),
    counts: places.f64(bins),
    values: places.f64(PROFILE_POINTS),
    slopes: places.f64(PROFILE_POINTS),
  }
  const loops = loopsOf(places.end())
  const { memory } = loops
  const [lengthU, lengthV] = acrossEdge ? [field.width, field.height] : [field.height, field.width]
  const at0 = (window.u0 - window.slope * window.v0) / pitch
  const n = loops.edgeRuns(low, high, slope, at0, before, after, lengthU, lengthV, at.lines, at.first, at.start)
  if (n === 0) return null
  const lines = new Int32Array(memory, at.lines, n)
  const first = new Int32Array(memory, at.first, n)
  const start = new Int32Array(memory, at.start, n + 1)
  for (let from = 0; from < n; from += PIECE) {
    const last = Math.min(from + PIECE, n) - 1
    // Along a straight edge the first and the last line reach farthest.
    const left = Math.min(first[from]!, first[last]!)
    const ends = (j: number) => first[j]! + start[j + 1]! - start[j]!
    const wide = Math.max(ends(from), ends(last)) - left
    const top = lines[from]!
    const deep = lines[last]! + 1 - top
    const rect = acrossEdge
      ? { column: left, row: top, width: wide, height: deep }
      : { column: top, row: left, width: deep, height: wide }
    new Float32Array(memory, at.window, wide * deep).set(field.read(rect))
    const [across, down] = acrossEdge ? [1, wide] : [deep, 1]
    loops.takeRuns(at.window, across, down, left, top, at.lines, at.first, at.start, from, last + 1, at.light)
  }
  const coefficients = new Float64Array(memory, at.coefficients, HIGHEST_ORDER + 1)
  const placed = new Float64Array(memory, at.placed, HIGHEST_ORDER + 1)
  let placedOrder = 0
  const told = new Float64Array(memory, at.told, 3)
  return {
    n,
    pitch,
    centres: new Float64Array(memory, at.centres, n),
    weights: new Float64Array(memory, at.weights, n),
    shifts: new Float64Array(memory, at.shifts, n),
    errors: new Float64Array(memory, at.errors, n),
    scaleAlong: (middle, half) => loops.scaledPlaces(at.lines, n, pitchV, middle, half, at.along),
    areaCentres: (sign, clear, dark) =>
      loops.areaCentres(at.light, at.start, at.first, n, sign, clear, dark, pitch, at.centres),
    robustFit(order, outlier) {
      const { along: x, centres, weights, coefficients: into, work } = at
      if (loops.robustPolynomial(x, centres, weights, n, order, outlier, into, work) === 0)
        throw new RangeError(`a line of order ${order} cannot be laid through so few scan lines`)
      return [...coefficients.subarray(0, order + 1)]
    },
    placeAt(line) {
      placed.set(line)
      placedOrder = line.length - 1
      loops.polynomialAt(at.placed, placedOrder, at.along, n, at.line)
    },
    plateau(signedCosine, [near, split, far], { samples, dust }) {
      const { light: from, start, first, line, work, told: into } = at
      loops.plateau(from, start, first, line, n, pitch, signedCosine, near, split, far, samples, dust, work, into)
      return { mean: told[0]!, noise: told[1]!, step: told[2]! }
    },
    bin(sign, cosine, { clearUm, darkUm }, width) {
      const { light: from, start, first, line, weights, distances, lights, counts } = at
      const wanted = Math.min(bins, Math.ceil((clearUm + darkUm) / width) + 1)
      const filled = loops.binLines(
        ...[from, start, first, line, weights, n, pitch, sign],
        ...([cosine, darkUm, width, wanted, distances, lights, counts] as const),
      )
      return {
        distance: new Float64Array(memory, distances, filled),
        light: new Float64Array(memory, lights, filled),
        count: new Float64Array(memory, counts, filled),
      }
    },
    widestGap: filled => loops.widestGap(at.distances, filled),
    smooth(filled, { from, step }, half, { clear, dark }) {
      const { distances, lights, counts, values, slopes } = at
      loops.smoothProfile(
        distances,
        lights,
        counts,
        filled,
        from,
        step,
        PROFILE_POINTS,
        half,
        clear,
        dark,
        values,
        slopes,
      )
    },
    shift({ from, step }, sign, cosine, { clear, dark, clearNoise, darkNoise }) {
      loops.shiftLines(
        at.light,
        at.start,
        at.first,
        at.line,
        n,
        pitch,
        sign,
        cosine,
        from,
        step,
        PROFILE_POINTS,
        at.values,
        at.slopes,
        clear,
        dark,
        clearNoise,
        darkNoise,
        at.shifts,
        at.errors,
      )
    },
    takeShifts(sign, cosine) {
      const { placed: line, along: x, shifts, errors, centres, weights } = at
      return loops.shiftedCentres(line, placedOrder, x, n, shifts, errors, sign / cosine, centres, weights)
    },
    squaredAbout(line) {
      coefficients.set(line)
      const { coefficients: of, along: x, centres, weights, told: into } = at
      const used = loops.squaredAbout(of, line.length - 1, x, centres, weights, n, into)
      return { sum: told[0]!, used }
    },
    usualError: () => loops.medianOf(at.work, loops.finiteOf(at.errors, n, at.work)),
    leftOut: () => loops.leftOut(at.weights, at.errors, n),
    departures(line, factor) {
      coefficients.set(line)
      const { coefficients: of, along: x, centres, weights, errors, work } = at
      const offErrors = work + 8 * n
      const count = loops.departures(of, line.length - 1, x, centres, weights, errors, n, factor, work, offErrors)
      const copy = (from: number) => new Float64Array(memory, from, count).slice()
      return { shifts: copy(work), errors: copy(offErrors) }
    },
  }
}

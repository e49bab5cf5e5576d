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
  /** Place of each line along the edge; um as read, for the caller to scale. */
  readonly along: Float64Array
  /** Where the edge stands on each line, um, and whether that counts (0 or 1). */
  readonly centres: Float64Array
  readonly weights: Float64Array
  /** Shift of each line against the common profile and its standard error, um along the normal. */
  readonly shifts: Float64Array
  readonly errors: Float64Array
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
  /** Each line shifted onto the smoothed profile. */
  shift(grid: ProfileGrid, sign: number, cosine: number, levels: EdgeLevels): void
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
  const { acrossEdge } = window
  const pitch = acrossEdge ? field.umPerPixel.across : field.umPerPixel.along
  const pitchV = acrossEdge ? field.umPerPixel.along : field.umPerPixel.across
  const runs = runsAcross(field, window, reach, pitch, pitchV)
  const n = runs.length
  if (n === 0) return null
  const starts = new Int32Array(n + 1)
  for (let k = 0; k < n; k++) starts[k + 1] = starts[k]! + runs[k]!.to - runs[k]!.from

  const places = layout()
  const bins = Math.ceil((MOST_BINS_PER_PIXEL * (reach.clearUm + reach.darkUm)) / pitch) + 2
  const at = {
    light: places.f32(starts[n]!),
    start: places.i32(n + 1),
    first: places.i32(n),
    along: places.f64(n),
    centres: places.f64(n),
    weights: places.f64(n),
    shifts: places.f64(n),
    errors: places.f64(n),
    line: places.f64(n),
    coefficients: places.f64(HIGHEST_ORDER + 1),
    told: places.f64(3),
    work: places.f64(3 * n + MOST_SAMPLES),
    distances: places.f64(bins),
    lights: places.f64(bins),
    counts: places.f64(bins),
    values: places.f64(PROFILE_POINTS),
    slopes: places.f64(PROFILE_POINTS),
  }
  const loops = loopsOf(places.end())
  const { memory } = loops
  const light = new Float32Array(memory, at.light, starts[n]!)
  for (let p = 0; p < n; p += PIECE) readPiece(field, acrossEdge, runs.slice(p, p + PIECE), light.subarray(starts[p]!))
  new Int32Array(memory, at.start, n + 1).set(starts)
  new Int32Array(memory, at.first, n).set(runs.map(run => run.from))
  const along = new Float64Array(memory, at.along, n)
  along.set(runs.map(run => run.line * pitchV))
  const coefficients = new Float64Array(memory, at.coefficients, HIGHEST_ORDER + 1)
  const told = new Float64Array(memory, at.told, 3)
  return {
    n,
    pitch,
    along,
    centres: new Float64Array(memory, at.centres, n),
    weights: new Float64Array(memory, at.weights, n),
    shifts: new Float64Array(memory, at.shifts, n),
    errors: new Float64Array(memory, at.errors, n),
    areaCentres: (sign, clear, dark) =>
      loops.areaCentres(at.light, at.start, at.first, n, sign, clear, dark, pitch, at.centres),
    robustFit(order, outlier) {
      const { along: x, centres, weights, coefficients: into, work } = at
      if (loops.robustPolynomial(x, centres, weights, n, order, outlier, into, work) === 0)
        throw new RangeError(`a line of order ${order} cannot be laid through so few scan lines`)
      return [...coefficients.subarray(0, order + 1)]
    },
    placeAt(line) {
      coefficients.set(line)
      loops.polynomialAt(at.coefficients, line.length - 1, at.along, n, at.line)
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
  }
}

/** Pixels `from` to `to` (not included) of one scan line across the edge. */
interface Run {
  readonly line: number
  readonly from: number
  readonly to: number
}

function runsAcross(field: LightField, window: EdgeWindow, reach: EdgeReach, pitchU: number, pitchV: number): Run[] {
  const { acrossEdge, sign, slope } = window
  const lengthU = acrossEdge ? field.width : field.height
  const lengthV = acrossEdge ? field.height : field.width
  const stretch = Math.hypot(1, slope)
  const before = ((sign > 0 ? reach.darkUm : reach.clearUm) * stretch) / pitchU
  const after = ((sign > 0 ? reach.clearUm : reach.darkUm) * stretch) / pitchU
  const last = Math.floor(window.v1 / pitchV)
  const runs: Run[] = []
  for (let line = Math.ceil(window.v0 / pitchV); line <= last; line++) {
    const at = (window.u0 + slope * (line * pitchV - window.v0)) / pitchU
    // A line cut by the rim of the scan still serves while half its reach is there on both sides.
    const from = Math.max(0, Math.ceil(at - before))
    const to = Math.min(lengthU - 1, Math.floor(at + after))
    if (!(line >= 0 && line < lengthV && at - from >= before / 2 && to - at >= after / 2)) continue
    runs.push({ line, from, to: to + 1 })
  }
  return runs
}

/** Reads runs that lie on neighbouring lines, one after the other into `light`. */
function readPiece(field: LightField, acrossEdge: boolean, runs: readonly Run[], light: Float32Array): void {
  const left = Math.min(...runs.map(run => run.from))
  const wide = Math.max(...runs.map(run => run.to)) - left
  const top = runs[0]!.line
  const high = runs.at(-1)!.line + 1 - top
  const rect = acrossEdge
    ? { column: left, row: top, width: wide, height: high }
    : { column: top, row: left, width: high, height: wide }
  const window = field.read(rect)
  let into = 0
  for (const { line, from, to } of runs) {
    if (acrossEdge) {
      const at = (line - top) * wide
      light.set(window.subarray(at + from - left, at + to - left), into)
    } else takeColumn(window, (from - left) * high + line - top, high, light.subarray(into, into + to - from))
    into += to - from
  }
}

function takeColumn(window: Float32Array, from: number, stride: number, into: Float32Array): void {
  for (let i = 0, at = from; i < into.length; i++, at += stride) into[i] = window[at]!
}

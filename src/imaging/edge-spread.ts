import type { PixelPoint } from '../model/geometry.js'
import {
  type EdgeBins,
  type EdgeLevels,
  type EdgeLines,
  type EdgeReach,
  PROFILE_POINTS,
  readEdgeLines,
} from './edge-lines.js'
import { polynomial } from './fit-polynomial.js'
import type { LightField } from './light-field.js'
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

/**
 * Super-samples one straight edge: every pixel near it is projected along the fitted edge line onto its normal
 * and collected in eighth-pixel bins (ISO 12233:2014, 6.2; ISO 16067-2:2004 manner), on linear light.
 * The line is found per scan line from the light summed across the edge, then refined by shifting each scan line
 * onto the common profile; a significantly curved edge is followed by a polynomial of up to fifth order and its sag reported.
 * @param reach how far from the edge to read on each side, um
 */
export function superSampleEdge(field: LightField, edge: StraightEdge, reach: EdgeReach): EdgeSpread | RefusedEdge {
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

  const at = { u0: u(start), v0: v(start), v1: v(end), slope: slope0 }
  const lines = readEdgeLines(field, { acrossEdge, sign, ...at }, reach)
  if (lines === null || lines.n < FEWEST_LINES) return { refused: 'the edge lies too near the rim of the scan' }
  const { n, weights } = lines
  lines.scaleAlong(middle, half)

  // First line: from the light summed across the edge, which blur does not move.
  let coefficients = [(u(start) + u(end)) / 2, slope0 * half]
  weights.fill(1)
  const cosine = () => 1 / Math.hypot(1, coefficients[1]! / half)
  let plateaus = readPlateaus(lines, coefficients, sign, cosine(), reach)
  const change = plateaus.clear - plateaus.dark
  if (!(change > 6 * Math.max(plateaus.clearNoise, plateaus.darkNoise) && change > 0))
    return { refused: 'the two sides of the edge are not told apart' }
  lines.areaCentres(sign, plateaus.clear, plateaus.dark)
  coefficients = lines.robustFit(1, LINE_OUTLIER)

  // Then every line is shifted onto the common profile; the profile sharpens as the line does.
  let order = 1
  for (let round = 0; round < 4; round++) {
    lines.placeAt(coefficients)
    const { distance } = lines.bin(sign, cosine(), reach, (pitchU * cosine()) / BINS_PER_PIXEL)
    const grid = { from: -reach.darkUm, step: (reach.clearUm + reach.darkUm) / (PROFILE_POINTS - 1) }
    lines.smooth(distance.length, grid, halfWindow(distance, lines.widestGap(distance.length)), plateaus)
    lines.shift(grid, sign, cosine(), plateaus)
    // A coarse scan may step over a sharp edge: a line without a pixel on the slope says nothing of the place.
    const placed = lines.takeShifts(sign, cosine())
    if (!(placed >= FEWEST_LINES)) return { refused: 'the scan is too coarse for so sharp an edge' }
    if (round === 1) order = curvatureOrder(lines)
    coefficients = lines.robustFit(order, LINE_OUTLIER)
  }
  const leftOut = lines.leftOut()
  if (leftOut > n / 4) return { refused: 'the edge is ragged or damaged along more than a quarter of its length' }

  const c = cosine()
  plateaus = readPlateaus(lines, coefficients, sign, c, reach)
  const binUm = (pitchU * c) / BINS_PER_PIXEL
  const bins = kept(lines.bin(sign, c, reach, binUm))
  // A line of higher order may follow slow wander, which is not bend.
  const counts = weights.slice()
  const simple = order > MOST_BEND_ORDER ? lines.robustFit(MOST_BEND_ORDER, LINE_OUTLIER) : coefficients
  weights.set(counts)
  const { shifts, errors } = lines.departures(simple, sign * c)
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
    binUm,
    pitchUm: pitchU,
    clear: plateaus.clear,
    dark: plateaus.dark,
    clearNoise: plateaus.clearNoise,
    darkNoise: plateaus.darkNoise,
    phaseCoverage: phaseCoverage(bins, binUm),
    sagUm: sag(coefficients) * c,
    order: Math.min(order, MOST_BEND_ORDER),
    lines: n - leftOut,
    linesLeftOut: leftOut,
    shifts,
    shiftErrors: errors,
    plateauReached: plateaus.flat,
  }
}

/** A copy that the next call does not write over. */
function kept({ distance, light, count }: EdgeBins): EdgeBins {
  return { distance: distance.slice(), light: light.slice(), count: count.slice() }
}

interface Plateaus extends EdgeLevels {
  readonly flat: boolean
}

/** Pixels looked at to tell what is usual on a plateau, and how far from it, in robust deviations, they are dust; the mean is then over all pixels that are not. */
const PLATEAU_LIMITS = { samples: 3000, dust: 6 }

function readPlateaus(
  lines: EdgeLines,
  coefficients: readonly number[],
  sign: number,
  cosine: number,
  reach: EdgeReach,
): Plateaus {
  lines.placeAt(coefficients)
  const side = (signedCosine: number, um: number) =>
    lines.plateau(signedCosine, [PLATEAU_FROM * um, ((1 + PLATEAU_FROM) / 2) * um, um], PLATEAU_LIMITS)
  const clear = side(sign * cosine, reach.clearUm)
  const dark = side(-sign * cosine, reach.darkUm)
  return {
    clear: clear.mean,
    dark: dark.mean,
    clearNoise: clear.noise,
    darkNoise: dark.noise,
    flat: Math.max(clear.step, dark.step) <= PLATEAU_FLAT_WITHIN * (clear.mean - dark.mean),
  }
}

/**
 * Order of the centre line: raised while it explains more than chance would, judged by the Bayesian information criterion
 * (Schwarz, Ann. Statist. 6, 461, 1978; from memory) with a margin, and only when the bend is larger than noise. The lines' weights are as they were.
 */
function curvatureOrder(lines: EdgeLines): number {
  const { weights } = lines
  const before = weights.slice()
  const noise = lines.usualError()
  let best = { order: 1, score: Number.POSITIVE_INFINITY }
  for (const order of [1, 2, 3, 5]) {
    weights.set(before)
    const { sum, used } = lines.squaredAbout(lines.robustFit(order, LINE_OUTLIER))
    const score = used * Math.log(Math.max(sum / used, noise ** 2 * 0.25, 1e-12)) + 3 * order * Math.log(used)
    if (score < best.score) best = { order, score }
  }
  weights.set(before)
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

/** Half-window of the smoothed profile: most of a pixel, found from the bins themselves since sparse phases leave gaps. */
function halfWindow(distance: Float64Array, gap: number): number {
  return Math.max(2.6 * ((distance.at(-1)! - distance[0]!) / (distance.length - 1)), 1.6 * gap)
}

function phaseCoverage(bins: EdgeBins, binUm: number): number {
  let filled = 0
  for (const d of bins.distance) if (Math.abs(d) <= 2 * BINS_PER_PIXEL * binUm) filled++
  return Math.min(1, filled / (4 * BINS_PER_PIXEL))
}

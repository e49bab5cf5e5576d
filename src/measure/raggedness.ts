import type { LengthDoubts } from '../model/length-doubts.js'
import { type EdgeValue, middleOfEdges, type SharedEffect, sizeEffects } from './combine-edges.js'
import { type FilmEvidence, type Measured, notMeasured } from './film-evidence.js'
import type { MeasuredEdge } from './measured-edge.js'
import { NO_EDGE_NEXT, noEdgeBecause } from './rise-width.js'

export const RAGGEDNESS_METHOD = 'raggedness@1'

/** Wander beyond this many lags is taken for chance, share of the lines. */
const MOST_LAGS = 0.2
/** The noise that pixels leave in a contour point is itself known to this share of its variance. */
const NOISE_KNOWN = 0.1
/** A line that follows more than this of the wander leaves nothing to tell it by. */
const MOST_FOLLOWED = 0.8
/** Autocovariance that swings back this far is a wave's, share of the variance. */
const REGULAR = -0.5
/** What the scanner hides of fine wander is put back; that is good to this share of it, and no more is put back than this share of what is seen. */
const HIDDEN_KNOWN = 0.5
const MOST_HIDDEN = 1

interface Wander {
  /** Variance of the contour, noise taken out, um^2. */
  readonly variance: number
  /** Its standard error from so few independent stretches, and from the noise, um^2. */
  readonly chance: number
  readonly noise: number
  /** Part of it that was added for what the scanner hides, um^2. */
  readonly hidden: number
  /** What the fitted line may have followed, one standard uncertainty, um^2. */
  readonly followed: number
  readonly degreesOfFreedom: number
  /** A wave of one length, which neither skew nor the fitted line takes anything of. */
  readonly regular: boolean
}

/**
 * Variance of the contour about its line. Neighbouring points wander together: the standard error counts that by Bartlett's formula
 * `2/n sum of squared autocovariances` (J. R. Stat. Soc. Suppl. 8, 27, 1946; from memory), and so does what the fitted line takes of it.
 */
function wanderOf(edge: MeasuredEdge): Wander {
  const { shifts, shiftErrors, order, lengthUm } = edge.spread
  const n = shifts.length
  let noise = 0
  for (let i = 0; i < n; i++) noise += shiftErrors[i]! ** 2
  noise /= Math.max(1, n)
  const lags = Math.max(1, Math.floor(MOST_LAGS * n))
  const covariance = Array.from({ length: lags + 1 }, (_, lag) => {
    let sum = 0
    for (let i = 0; i + lag < n; i++) sum += shifts[i]! * shifts[i + lag]!
    return sum / Math.max(1, n)
  })
  const seen = covariance[0]!
  const own = Math.max(0, seen - noise)
  let squares = seen ** 2
  let likeness = own > 0 ? 1 : 0
  // The first lag without likeness ends it; what follows is chance.
  for (let lag = 1; lag <= lags && covariance[lag]! > 0; lag++) {
    const alike = Math.min(covariance[lag]!, own)
    squares += 2 * alike ** 2
    if (own > 0) likeness += (2 * alike) / own
  }
  // The fitted line follows slow wander by a stretch of likeness for each of its constants, give or take half. A regular wave it passes by.
  const regular = Math.min(...covariance) < REGULAR * own
  const most = regular ? 0 : Math.min(MOST_FOLLOWED, ((order + 1) * likeness) / Math.max(1, n))
  const kept = 1 - most
  const hidden = own * hiddenShare(covariance[1]! / own, lengthUm / Math.max(1, n - 1), edge.scanner.rise / 2.563)
  const variance = (own + hidden) / kept
  const chance = Math.sqrt((2 / n) * squares) / kept
  return {
    variance,
    chance,
    noise: (NOISE_KNOWN * noise) / kept,
    hidden: hidden / kept,
    followed: ((variance / kept) * (most / 2)) / Math.sqrt(3),
    regular,
    degreesOfFreedom: Math.max(1, 2 * (seen / kept / Math.max(chance, 1e-12)) ** 2),
  }
}

/**
 * What blur of `sigma` along the edge took of the wander's variance, as a share of what it left. Wander whose likeness falls off as a Gaussian
 * of length L keeps `L / sqrt(L^2 + 2 sigma^2)` of it and seems to have the length `sqrt(L^2 + 2 sigma^2)` (Gaussians convolve).
 * @param alike correlation of neighbouring points, noise taken out
 * @param pitch distance of neighbouring points, um
 */
function hiddenShare(alike: number, pitch: number, sigma: number): number {
  if (!(alike < 1)) return 0
  const seen2 = pitch ** 2 / (2 * Math.log(1 / Math.max(alike, 1e-3)))
  return Math.min(MOST_HIDDEN, Math.sqrt(seen2 / Math.max(seen2 - 2 * sigma ** 2, 1e-3 * seen2)) - 1)
}

function raggednessOf(edge: MeasuredEdge, doubts: LengthDoubts): EdgeValue {
  const wander = wanderOf(edge)
  const error = Math.hypot(wander.chance, wander.noise, HIDDEN_KNOWN * wander.hidden, wander.followed) + 1e-6
  const hiddenBound = !(wander.variance > 2 * error)
  // Of edges alike the middle one lies below their mean, for variances are skewed: the median of chi-squared is (1 - 2 / 9 nu)^3 of its mean (Wilson & Hilferty 1931).
  const skew = wander.regular ? 1 : (1 - 2 / (9 * Math.max(2, wander.degreesOfFreedom))) ** 3
  const value = Math.sqrt((hiddenBound ? wander.variance + 2 * error : wander.variance) / skew)
  const sensitivity = 1 / (2 * value)
  const own = (name: string, type: 'A' | 'B', standard: number, degreesOfFreedom: number | null) => ({
    name,
    standard: standard * sensitivity,
    type,
    input: { standard, unit: 'um2' },
    sensitivity,
    degreesOfFreedom,
  })
  const common = (name: string, standard: number): SharedEffect => ({
    name,
    source: name,
    effect: standard * sensitivity,
    type: 'B',
    input: { standard, unit: 'um2' },
    degreesOfFreedom: null,
  })
  return {
    edge,
    value,
    own: [own('length of edge', 'A', wander.chance, wander.degreesOfFreedom), own('noise', 'B', wander.noise, null)],
    shared: [
      common('wander finer than the scanner shows', HIDDEN_KNOWN * wander.hidden),
      common('wander that the line follows', wander.followed),
      ...sizeEffects(doubts, edge, value),
    ],
    bound: hiddenBound ? 'atMost' : null,
  }
}

/**
 * How far the edge's 60 % contour wanders from its straight line, rms (ISO/IEC 13660 manner), pixel noise taken out; the middle one
 * of all edges. um, 0 upward; `atMost` when noise hides it. One contour point a scan line, each from the light around the contour.
 * The scanner's blur hides wandering finer than its own spread: what it takes of the rest is put back. Assumes a straight edge; damaged lines are left out.
 */
export function measureRaggedness(film: FilmEvidence): Measured {
  if (film.edges.length === 0) return notMeasured('raggedness', noEdgeBecause(film), NO_EDGE_NEXT)
  return middleOfEdges(
    film.edges.map(edge => raggednessOf(edge, film.doubts)),
    RAGGEDNESS_METHOD,
  )
}

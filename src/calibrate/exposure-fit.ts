import { covarianceAt, fitLeastSquares } from '../imaging/fit-least-squares.js'
import { BLACK_DRIFT_CODES } from './deepest-density.js'

/** Mean light of one level in two scans, as the calibration's curve reads each. */
export interface LevelPair {
  readonly lower: number
  readonly upper: number
  /** Standard error of the brighter one's mean against the other's. */
  readonly error: number
}

/** The same film at two exposures; `lower` and `upper` are places in the list of scans, the reference is 0. */
export interface ExposurePair {
  readonly lower: number
  readonly upper: number
  readonly levels: readonly LevelPair[]
}

/** An opaque reference as one scan reads it. */
export interface DarkLevel {
  readonly scan: number
  readonly light: number
  readonly error: number
}

export interface ExposureQuestion {
  readonly scans: number
  readonly pairs: readonly ExposurePair[]
  readonly darks: readonly DarkLevel[]
  /** Light of one code at a light: how far an error of black moves it. */
  readonly perCode: (light: number) => number
  /** Standard uncertainty of the calibration's black, codes. */
  readonly blackError: number
  /** Veil as the calibration has it, share of open light. */
  readonly veil: number
  /** Light on the opaque reference beyond the veil that all places share, with its standard uncertainty; null for none. */
  readonly darkGlare: { readonly light: number; readonly error: number } | null
  /** First guess of each scan's ratio to the reference; 1 for the reference. */
  readonly ratios: readonly number[]
}

/**
 * How each scan of a bracket reads light: seen = ratio * (T + veil + glare) - veil + perCode * (shift of black). The calibration's curve holds
 * the veil that all places share, `glare` is what lies on the opaque reference beyond it: the zero of `T` is there.
 */
export interface ExposureFit {
  /** Exposure over the reference's, 1 for the reference itself. */
  readonly ratios: readonly number[]
  /** Standard uncertainty of ln ratio, from the levels; 0 for the reference. */
  readonly ratioErrors: readonly number[]
  /** Stray light at the zero of light (veil and glare), share of open light at the reference's exposure: it grows with exposure, an offset does not. */
  readonly veil: number
  /** How far black lies from the calibration's in each scan, codes. */
  readonly blackShifts: readonly number[]
  /** Film's light from what a scan reads. */
  readonly filmLight: (scan: number, seen: number) => number
  /** What a scan reads of a film's light: the inverse. */
  readonly seenLight: (scan: number, filmLight: number) => number
  /**
   * Standard uncertainty of the film's light when it is joined from several scans with these weights (sum 1): of the
   * ratios, and of black and veil. `total` is that of film and veil together, which veil cannot make too small.
   */
  readonly uncertainty: (
    filmLight: number,
    weights: readonly number[],
  ) => { readonly ratio: number; readonly black: number; readonly total: number }
  readonly chiSquarePerFreedom: number
}

/** What is believed of stray light before the bracket is seen: published figures for flatbeds lie at 0.03 to 0.1 %. */
const VEIL_PRIOR = 3e-4

/**
 * Ratio, veil and black of all scans of a bracket together, by least squares: an offset of the electronics does not grow
 * with exposure, stray light does (two dark means tell one from the other: `checks` T09). Every scan's black may have
 * drifted by `BLACK_DRIFT_CODES`; the calibration's own error of black is common to all. The covariance is widened by
 * chi-square per degree of freedom where the levels scatter more than their errors say (Birge, Phys. Rev. 40, 207, 1932).
 */
export function fitExposures(question: ExposureQuestion): ExposureFit {
  const { scans, pairs, darks, perCode, blackError, darkGlare } = question
  // ln ratio of the scans after the first, veil, the common error of black, drift of each scan, glare on the dark.
  const ratioAt = (p: readonly number[], k: number) => (k === 0 ? 1 : Math.exp(p[k - 1]!))
  const veilAt = (p: readonly number[]) => p[scans - 1]!
  const shiftAt = (p: readonly number[], k: number) => p[scans]! + p[scans + 1 + k]!
  const glareAt = (p: readonly number[]) => (darkGlare === null ? 0 : p[2 * scans + 1]!)
  const film = (p: readonly number[], k: number, seen: number) =>
    (seen - perCode(seen) * shiftAt(p, k) + veilAt(p)) / ratioAt(p, k) - veilAt(p) - glareAt(p)
  const start = [
    ...question.ratios.slice(1).map(ratio => Math.log(ratio)),
    question.veil,
    0,
    ...question.ratios.map(() => 0),
    ...(darkGlare === null ? [] : [darkGlare.light]),
  ]
  const scale = [
    ...question.ratios.slice(1).map(() => 0.01),
    VEIL_PRIOR,
    1,
    ...question.ratios.map(() => 1),
    ...(darkGlare === null ? [] : [VEIL_PRIOR]),
  ]
  const residuals = (p: readonly number[]): number[] => {
    const out: number[] = []
    for (const { lower, upper, levels } of pairs)
      for (const level of levels) {
        const below = film(p, lower, level.lower)
        const above = film(p, upper, level.upper)
        const error = level.error / question.ratios[upper]!
        out.push((above - below) / error)
      }
    for (const dark of darks) out.push((film(p, dark.scan, dark.light) * question.ratios[dark.scan]!) / dark.error)
    out.push((veilAt(p) - question.veil) / VEIL_PRIOR)
    out.push(p[scans]! / Math.max(blackError, 0.1))
    for (let k = 0; k < scans; k++) out.push(p[scans + 1 + k]! / BLACK_DRIFT_CODES)
    if (darkGlare !== null) out.push((glareAt(p) - darkGlare.light) / darkGlare.error)
    return out
  }
  const fit = fitLeastSquares(residuals, start, scale)
  const at = fit.parameters
  const measured = pairs.reduce((sum, pair) => sum + pair.levels.length, 0) + darks.length
  const perFreedom = fit.chiSquare / Math.max(1, measured - (scans - 1))
  const widen = Math.max(1, perFreedom)
  const covariance = covarianceAt(residuals, at, scale).map(row => row.map(value => value * widen))

  const seenLight = (k: number, light: number): number => {
    const steady = ratioAt(at, k) * (light + veilAt(at) + glareAt(at)) - veilAt(at)
    // The light of a code hardly changes over a drift of a few: two rounds settle it.
    let seen = steady
    for (let i = 0; i < 3; i++) seen = steady + perCode(seen) * shiftAt(at, k)
    return seen
  }
  const spread = (gradient: readonly number[], from: number, to: number): number => {
    let sum = 0
    for (let i = from; i < to; i++)
      for (let j = from; j < to; j++) sum += gradient[i]! * gradient[j]! * covariance[i]![j]!
    return Math.sqrt(Math.max(0, sum))
  }
  return {
    ratios: Array.from({ length: scans }, (_, k) => ratioAt(at, k)),
    ratioErrors: Array.from({ length: scans }, (_, k) => (k === 0 ? 0 : Math.sqrt(covariance[k - 1]![k - 1]!))),
    veil: veilAt(at) + glareAt(at),
    blackShifts: Array.from({ length: scans }, (_, k) => shiftAt(at, k)),
    filmLight: (k, seen) => film(at, k, seen),
    seenLight,
    uncertainty(light, weights) {
      const joined = (p: readonly number[]) =>
        weights.reduce((sum, w, k) => (w > 0 ? sum + w * film(p, k, seenLight(k, light)) : sum), 0)
      const gradient = at.map((_, i) => {
        const move = (by: number) => at.map((value, j) => (j === i ? value + by : value))
        const step = 1e-3 * scale[i]!
        return (joined(move(step)) - joined(move(-step))) / (2 * step)
      })
      const withVeil = gradient.map((value, i) => (i === scans - 1 || i > 2 * scans ? value + 1 : value))
      return {
        ratio: spread(gradient, 0, scans - 1),
        black: spread(gradient, scans - 1, at.length),
        total: spread(withVeil, scans - 1, at.length),
      }
    },
    chiSquarePerFreedom: perFreedom,
  }
}

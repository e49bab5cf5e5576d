import { CholeskyDecomposition, Matrix } from 'ml-matrix'
import type { Calibration, ResponseCurve } from '../model/calibration.js'
import { formulaOf } from './response-curve.js'

/** The response without what each step's own certificate error makes it wriggle. */
export interface SmoothScale {
  readonly response: ResponseCurve
  /** Row `k`: what a unit of error in the certified density of trusted step `k` does to the scale at open light (0) and at every trusted step. */
  readonly spread: readonly (readonly number[])[]
}

/**
 * Of the variance of a certificate's densities this share is each step's own; the rest is common to neighbouring steps, for they are read by one
 * densitometer in one sitting. Certificates do not tell. The project's own figure; common practice, no source.
 */
export const OWN_VARIANCE = 0.5
/** A scanner's response departs from the formula by bends this wide, D (correlation length): electronics have no wriggles from step to step. */
const BEND_WIDTH = 0.6
/** How far bends may go, D (one sigma): the one that makes what is seen likeliest is taken. */
const BENDS = [0.001, 0.002, 0.004, 0.008, 0.016, 0.03]
/** How far the formula's own constants may move the curve, D (one sigma): as far as the steps want. */
const FREE = 0.3
/** Open light is D 0 by definition. */
const OPEN_ERROR = 2e-4

/**
 * Widths are read off the slope of the light scale, and a step off by 0.01 D bends it where the next step bends it back: an edge of 30 um
 * then reads 1 to 2 um wrong. A scanner's response is smooth, so for edges the knots are moved to the formula plus a smooth bend: the mean
 * of a Gaussian process through them, each with its own certificate error (Rasmussen & Williams, Gaussian Processes for Machine
 * Learning, 2006, 2.2 and 5.4.1: the greatest marginal likelihood chooses the bend). Readings of density keep the knots as they are.
 */
export function smoothScale(calibration: Calibration): SmoothScale {
  const before = made.get(calibration)
  if (before !== undefined) return before
  const scale = smoothed(calibration)
  made.set(calibration, scale)
  return scale
}

/** A calibration never changes, and a scan asks twice: for its light, and for what is not known of its lengths. */
const made = new WeakMap<Calibration, SmoothScale>()

function smoothed(calibration: Calibration): SmoothScale {
  const { response } = calibration
  const trusted = calibration.steps.filter(step => step.trusted)
  const { knots } = response
  const open = knots.length - trusted.length
  const same = trusted.map((_, k) => [0, ...trusted.map((_, j) => (j === k ? 1 : 0))])
  if (!(open === 0 || open === 1)) return { response, spread: same }
  const base = densitiesOf(response)
  if (!base.every(Number.isFinite)) return { response, spread: same }
  const off = knots.map((knot, k) => knot.density - base[k]!)
  const error = knots.map((knot, k) =>
    k < open
      ? OPEN_ERROR
      : Math.hypot(knot.standardError, Math.sqrt(OWN_VARIANCE) * (trusted[k - open]!.expanded / 2), OPEN_ERROR),
  )
  const tangents = tangentsOf(response, base)
  const n = knots.length
  let best: { likelihood: number; covariance: Matrix; whole: CholeskyDecomposition } | null = null
  for (const bend of BENDS) {
    const covariance = Matrix.zeros(n, n)
    for (let i = 0; i < n; i++)
      for (let j = 0; j < n; j++) {
        const apart = (knots[i]!.density - knots[j]!.density) / BEND_WIDTH
        let free = 0
        for (const tangent of tangents) free += tangent[i]! * tangent[j]!
        covariance.set(i, j, bend ** 2 * Math.exp(-0.5 * apart ** 2) + FREE ** 2 * free)
      }
    const noisy = covariance.clone()
    for (let i = 0; i < n; i++) noisy.set(i, i, covariance.get(i, i) + error[i]! ** 2)
    const whole = new CholeskyDecomposition(noisy)
    if (!whole.isPositiveDefinite()) continue
    const solved = whole.solve(Matrix.columnVector(off)).to1DArray()
    const likelihood = -0.5 * (product(off, solved) + logDeterminant(whole))
    if (best === null || likelihood > best.likelihood) best = { likelihood, covariance, whole }
  }
  if (best === null) return { response, spread: same }
  // What a unit of departure at each knot moves all of them by: covariance times inverse, both symmetric.
  const { covariance, whole } = best
  const smoother = whole.solve(covariance).transpose().to2DArray()
  const moved = smoother.map(row => product(row, off))
  const smooth = knots.map((knot, k) => ({ ...knot, density: base[k]! + moved[k]! }))
  for (let k = 1; k < smooth.length; k++)
    if (!(smooth[k]!.density > smooth[k - 1]!.density)) return { response, spread: same }
  return {
    response: { ...response, knots: smooth },
    spread: trusted.map((_, k) => [
      open === 0 ? 0 : smoother[0]![k + open]!,
      ...trusted.map((_, j) => smoother[j + open]![k + open]!),
    ]),
  }
}

/** Natural logarithm of the determinant of what was taken apart. */
function logDeterminant(whole: CholeskyDecomposition): number {
  return 2 * whole.lowerTriangularMatrix.diagonal().reduce((sum, value) => sum + Math.log(value), 0)
}

function product(a: ArrayLike<number>, b: ArrayLike<number>): number {
  let sum = 0
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!
  return sum
}

function densitiesOf(response: ResponseCurve): number[] {
  const formula = formulaOf(response)
  return response.knots.map(knot => formula.density(knot.code))
}

/** How the formula's density at each knot moves with black, gain and gamma: each scaled to 1 at most. */
function tangentsOf(response: ResponseCurve, base: readonly number[]): number[][] {
  const moved = [
    { ...response, black: response.black - 1 },
    { ...response, gain: response.gain * 1.001 },
    { ...response, gamma: response.gamma * 1.001 },
  ].map(densitiesOf)
  return moved.flatMap(list => {
    const change = list.map((density, k) => density - base[k]!)
    const most = Math.max(...change.map(Math.abs))
    return Number.isFinite(most) && most > 0 ? [change.map(value => value / most)] : []
  })
}

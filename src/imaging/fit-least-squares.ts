import { Matrix, pseudoInverse, solve } from 'ml-matrix'

/** The end of a least-squares fit. */
export interface LeastSquaresFit {
  readonly parameters: readonly number[]
  /** Inverse of J'J at the end: the parameters' covariance when the residuals were divided by their standard errors. */
  readonly covariance: readonly (readonly number[])[]
  /** Sum of squared residuals. */
  readonly chiSquare: number
  /** Residuals less parameters. */
  readonly freedom: number
  readonly converged: boolean
}

/** Steps after which a fit that still moves is given up. Ordinary fits end in 5 to 20. */
const MOST_STEPS = 200

/**
 * Least squares by Levenberg-Marquardt (Marquardt, J. SIAM 11, 431, 1963) with a central-difference Jacobian.
 * @param residuals residuals for given parameters, each divided by its own standard error; always the same length
 * @param start where to begin, finite
 * @param scale typical size of each parameter, above 0: sets the difference step (1e-5 of it)
 * @param allowed optional: false for parameters the fit must not enter
 * @param enough optional: a step that lessens the sum of squares by no more than this share of it is the last
 * @param slopes optional: derivatives of the residuals at given parameters, one row a residual, where they are known in closed form; several times faster
 */
export function fitLeastSquares(
  residuals: (parameters: readonly number[]) => readonly number[],
  start: readonly number[],
  scale: readonly number[],
  allowed: (parameters: readonly number[]) => boolean = () => true,
  enough = 1e-13,
  slopes?: (parameters: readonly number[]) => number[][],
): LeastSquaresFit {
  // Residuals are asked for twice at the parameters that were taken: for their sum of squares, and with the slopes there.
  let known = { at: start, r: residuals(start) }
  const residualsAt = (at: readonly number[]) => {
    if (known.at !== at) known = { at, r: residuals(at) }
    return known.r
  }
  const model: NormalModel = {
    residuals: known.r.length,
    chiSquare: at => sumOfSquares(residualsAt(at)),
    normal(at) {
      const r = residualsAt(at)
      const jacobian = slopes === undefined ? differences(residuals, at, scale, r.length) : slopes(at)
      return { squares: squared(jacobian), gradient: projected(jacobian, r) }
    },
  }
  return fitNormalEquations(model, start, scale, allowed, enough)
}

/** A model by what its fit needs: for one whose residuals need not be seen. */
export interface NormalModel {
  /** How many residuals there are. */
  readonly residuals: number
  /** Their sum of squares; what is not finite is not entered. */
  chiSquare(parameters: readonly number[]): number
  /** J'J, row by row, and J'r. */
  normal(parameters: readonly number[]): { readonly squares: Float64Array; readonly gradient: Float64Array }
}

/** As `fitLeastSquares`, which see. */
export function fitNormalEquations(
  model: NormalModel,
  start: readonly number[],
  scale: readonly number[],
  allowed: (parameters: readonly number[]) => boolean = () => true,
  enough = 1e-13,
): LeastSquaresFit {
  const count = start.length
  let at: readonly number[] = [...start]
  const chiAt = (parameters: readonly number[]) => {
    const sum = model.chiSquare(parameters)
    return Number.isFinite(sum) ? sum : Number.POSITIVE_INFINITY
  }
  let chi = chiAt(at)
  let damping = 1e-3
  let converged = false
  for (let step = 0; step < MOST_STEPS && !converged; step++) {
    const { squares, gradient } = model.normal(at)
    const right = Matrix.columnVector(gradient)
    let improved = false
    while (damping < 1e12) {
      const damped = Matrix.from1DArray(count, count, squares)
      for (let i = 0; i < count; i++) damped.set(i, i, damped.get(i, i) * (1 + damping) + 1e-300)
      let move: Matrix
      try {
        move = solve(damped, right)
      } catch {
        damping *= 10
        continue
      }
      const next = at.map((value, i) => value - move.get(i, 0))
      const nextChi = next.every(Number.isFinite) && allowed(next) ? chiAt(next) : null
      if (nextChi !== null && nextChi <= chi) {
        const small = next.every((value, i) => Math.abs(value - at[i]!) <= 1e-10 * (Math.abs(value) + scale[i]!))
        converged = small || chi - nextChi <= enough * (chi + 1e-300)
        at = next
        chi = nextChi
        damping = Math.max(damping / 10, 1e-12)
        improved = true
        break
      }
      damping *= 10
    }
    if (!improved) converged = true
  }
  return {
    parameters: at,
    covariance: covarianceOf(model.normal(at).squares, count),
    chiSquare: chi,
    freedom: model.residuals - count,
    converged,
  }
}

/** Inverse of J'J at given parameters. */
export function covarianceAt(
  residuals: (parameters: readonly number[]) => readonly number[],
  at: readonly number[],
  scale: readonly number[],
): readonly (readonly number[])[] {
  return covarianceOf(squared(differences(residuals, at, scale, residuals(at).length)), at.length)
}

/**
 * Inverse of J'J. Scaled to a unit diagonal before it is inverted: parameters of different size
 * (codes beside logarithms) would otherwise lose the small directions to rounding.
 */
function covarianceOf(squares: Float64Array, count: number): readonly (readonly number[])[] {
  const of = (i: number, j: number) => squares[i * count + j]!
  const size = Array.from({ length: count }, (_, i) => Math.sqrt(Math.max(of(i, i), 1e-300)))
  const unit = new Matrix(size.map((_, i) => size.map((_, j) => of(i, j) / size[i]! / size[j]!)))
  return pseudoInverse(unit)
    .to2DArray()
    .map((row, i) => row.map((value, j) => value / size[i]! / size[j]!))
}

function sumOfSquares(values: readonly number[]): number {
  let sum = 0
  for (const value of values) sum += value * value
  return Number.isFinite(sum) ? sum : Number.POSITIVE_INFINITY
}

/** J'J of a Jacobian, row by row: without the copies that general products of matrices make of a table of few columns. */
function squared(jacobian: readonly (readonly number[])[]): Float64Array {
  const count = jacobian[0]?.length ?? 0
  const sums = new Float64Array(count * count)
  for (const row of jacobian)
    for (let j = 0; j < count; j++) for (let k = 0; k <= j; k++) sums[j * count + k]! += row[j]! * row[k]!
  for (let j = 0; j < count; j++) for (let k = j + 1; k < count; k++) sums[j * count + k] = sums[k * count + j]!
  return sums
}

/** J'r. */
function projected(jacobian: readonly (readonly number[])[], r: readonly number[]): Float64Array {
  const sums = new Float64Array(jacobian[0]?.length ?? 0)
  for (let i = 0; i < r.length; i++) for (let j = 0; j < sums.length; j++) sums[j]! += jacobian[i]![j]! * r[i]!
  return sums
}

function differences(
  residuals: (parameters: readonly number[]) => readonly number[],
  at: readonly number[],
  scale: readonly number[],
  length: number,
): number[][] {
  const jacobian = Array.from({ length }, () => new Array<number>(at.length).fill(0))
  for (let p = 0; p < at.length; p++) {
    const h = 1e-5 * scale[p]!
    const up = residuals(at.map((value, i) => (i === p ? value + h : value)))
    const down = residuals(at.map((value, i) => (i === p ? value - h : value)))
    for (let i = 0; i < length; i++) jacobian[i]![p] = (up[i]! - down[i]!) / (2 * h)
  }
  return jacobian
}

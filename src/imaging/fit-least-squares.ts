import { inverse, Matrix, solve } from 'ml-matrix'

export interface LeastSquares {
  readonly parameters: readonly number[]
  /** Standard errors from the covariance, scaled by the residual scatter when that is larger than the weights claim. */
  readonly standardErrors: readonly number[]
  /** Weighted residual sum of squares over degrees of freedom: 1 when the weights are right and the model holds. */
  readonly reducedChiSquare: number
  readonly converged: boolean
}

/**
 * Weighted nonlinear least squares by damped Gauss-Newton steps (Levenberg 1944, Marquardt 1963) with a numerical Jacobian.
 * Own code because the covariance of the parameters is wanted, which ml-levenberg-marquardt does not return.
 * @param model values at all data points for given parameters, same length as `data`
 * @param data observed values
 * @param sigma standard deviation of each value, > 0
 * @param start first guess
 * @param steps step for the numerical derivative of each parameter
 */
export function fitLeastSquares(
  model: (parameters: readonly number[]) => Float64Array,
  data: Float64Array,
  sigma: Float64Array,
  start: readonly number[],
  steps: readonly number[],
): LeastSquares {
  const n = start.length
  if (!(data.length > n))
    throw new RangeError(`a fit of ${n} parameters needs more than ${n} points; got ${data.length}`)
  let parameters = [...start]
  let values = model(parameters)
  const chiOf = (v: Float64Array) => {
    let sum = 0
    for (let i = 0; i < data.length; i++) sum += ((data[i]! - v[i]!) / sigma[i]!) ** 2
    return sum
  }
  let chi = chiOf(values)
  let damping = 1e-3
  let converged = false
  let normal = Matrix.zeros(n, n)
  for (let round = 0; round < 60 && !converged; round++) {
    const gradient = Matrix.zeros(n, 1)
    normal = Matrix.zeros(n, n)
    const columns = parameters.map((_, k) => {
      const step = steps[k]!
      const moved = model(parameters.map((p, j) => (j === k ? p + step : p)))
      const back = model(parameters.map((p, j) => (j === k ? p - step : p)))
      const column = new Float64Array(data.length)
      for (let i = 0; i < data.length; i++) column[i] = (moved[i]! - back[i]!) / (2 * step) / sigma[i]!
      return column
    })
    for (let j = 0; j < n; j++) {
      let g = 0
      for (let i = 0; i < data.length; i++) g += (columns[j]![i]! * (data[i]! - values[i]!)) / sigma[i]!
      gradient.set(j, 0, g)
      for (let k = j; k < n; k++) {
        let sum = 0
        for (let i = 0; i < data.length; i++) sum += columns[j]![i]! * columns[k]![i]!
        normal.set(j, k, sum)
        normal.set(k, j, sum)
      }
    }
    let improved = false
    for (let attempt = 0; attempt < 12 && !improved; attempt++) {
      const damped = normal.clone()
      for (let k = 0; k < n; k++) damped.set(k, k, normal.get(k, k) * (1 + damping) + 1e-30)
      const step = solve(damped, gradient).to1DArray()
      const tried = parameters.map((p, k) => p + step[k]!)
      const triedValues = model(tried)
      const triedChi = chiOf(triedValues)
      if (triedChi <= chi) {
        converged = chi - triedChi <= 1e-9 * chi + 1e-15
        parameters = tried
        values = triedValues
        chi = triedChi
        damping = Math.max(damping / 8, 1e-9)
        improved = true
      } else damping *= 6
    }
    if (!improved) converged = true
  }
  const reducedChiSquare = chi / (data.length - n)
  const scale = Math.max(1, reducedChiSquare)
  let standardErrors: number[]
  try {
    const covariance = inverse(normal)
    standardErrors = parameters.map((_, k) => Math.sqrt(Math.max(0, covariance.get(k, k)) * scale))
  } catch {
    standardErrors = parameters.map(() => Number.POSITIVE_INFINITY)
  }
  return { parameters, standardErrors, reducedChiSquare, converged }
}

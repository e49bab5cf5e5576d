import { Matrix, solve } from 'ml-matrix'

/**
 * Weighted least-squares polynomial.
 * @param x scaled to about -1..1 by the caller, or the normal equations lose digits
 * @param weights 0 leaves a point out
 * @returns coefficients, constant first; length `order + 1`
 * @throws RangeError when fewer points than coefficients carry weight
 */
export function fitPolynomial(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  weights: ArrayLike<number>,
  order: number,
): number[] {
  const n = order + 1
  const a = new Float64Array(n * n)
  const b = new Float64Array(n)
  let used = 0
  const powers = new Float64Array(n)
  for (let i = 0; i < x.length; i++) {
    const w = weights[i]!
    if (!(w > 0)) continue
    used++
    powers[0] = 1
    for (let k = 1; k < n; k++) powers[k] = powers[k - 1]! * x[i]!
    for (let j = 0; j < n; j++) {
      const share = w * powers[j]!
      b[j]! += share * y[i]!
      for (let k = 0; k < n; k++) a[j * n + k]! += share * powers[k]!
    }
  }
  if (!(used >= n)) throw new RangeError(`a polynomial of order ${order} needs ${n} points; got ${used}`)
  return solve(Matrix.from1DArray(n, n, a), Matrix.columnVector(b)).to1DArray()
}

/** Value of a polynomial, coefficients constant first. */
export function polynomial(coefficients: readonly number[], x: number): number {
  let value = 0
  for (let k = coefficients.length - 1; k >= 0; k--) value = value * x + coefficients[k]!
  return value
}

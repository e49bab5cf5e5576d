import { layout, reusedLoops } from '../kernels/profile-loops.js'

const loopsOf = reusedLoops()

/** What the compiled loops have room for. */
const HIGHEST_ORDER = 5

/**
 * Weighted least-squares polynomial, by the normal equations.
 * @param x scaled to about -1..1 by the caller, or the normal equations lose digits
 * @param weights 0 leaves a point out
 * @param order 0 to 5
 * @returns coefficients, constant first; length `order + 1`
 * @throws RangeError when fewer points than coefficients carry weight
 */
export function fitPolynomial(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  weights: ArrayLike<number>,
  order: number,
): number[] {
  if (!(order >= 0 && order <= HIGHEST_ORDER)) throw new RangeError(`order must be 0 to ${HIGHEST_ORDER}; got ${order}`)
  const n = x.length
  const places = layout()
  const at = { x: places.f64(n), y: places.f64(n), weights: places.f64(n), coefficients: places.f64(HIGHEST_ORDER + 1) }
  const loops = loopsOf(places.end())
  const view = (from: number, length: number) => new Float64Array(loops.memory, from, length)
  view(at.x, n).set(x)
  view(at.y, n).set(y)
  view(at.weights, n).set(weights)
  if (loops.fitPolynomial(at.x, at.y, at.weights, n, order, at.coefficients) === 0) {
    const used = Array.from(weights).filter(weight => weight > 0).length
    throw new RangeError(`a polynomial of order ${order} needs ${order + 1} points; got ${used}`)
  }
  return [...view(at.coefficients, order + 1)]
}

/** Value of a polynomial, coefficients constant first. */
export function polynomial(coefficients: readonly number[], x: number): number {
  let value = 0
  for (let k = coefficients.length - 1; k >= 0; k--) value = value * x + coefficients[k]!
  return value
}

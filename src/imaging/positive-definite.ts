/** A symmetric, positive definite matrix taken apart: lower triangle times its transpose (Cholesky). */
export interface Decomposed {
  /** Natural logarithm of its determinant. */
  readonly logDeterminant: number
  /** What it takes to `right`; into a list of its own. */
  solve(right: ArrayLike<number>): Float64Array
}

/**
 * By hand and not by ml-matrix: half a dozen of these with a row for each step of a tablet took a tenth of a second to be compiled there, and run in a millisecond here.
 * @param matrix size x size, row by row; not changed
 * @returns null when it is not positive definite
 */
export function decomposed(matrix: Float64Array, size: number): Decomposed | null {
  if (matrix.length !== size * size)
    throw new RangeError(`matrix must be of size ${size}; got ${matrix.length} numbers`)
  const lower = new Float64Array(size * size)
  let logDeterminant = 0
  for (let i = 0; i < size; i++)
    for (let j = 0; j <= i; j++) {
      let rest = matrix[i * size + j]!
      for (let k = 0; k < j; k++) rest -= lower[i * size + k]! * lower[j * size + k]!
      if (j < i) {
        lower[i * size + j] = rest / lower[j * size + j]!
        continue
      }
      if (!(rest > 0)) return null
      lower[i * size + i] = Math.sqrt(rest)
      logDeterminant += Math.log(rest)
    }
  return {
    logDeterminant,
    solve(right) {
      const x = Float64Array.from(right)
      for (let i = 0; i < size; i++) {
        for (let k = 0; k < i; k++) x[i]! -= lower[i * size + k]! * x[k]!
        x[i]! /= lower[i * size + i]!
      }
      for (let i = size - 1; i >= 0; i--) {
        for (let k = i + 1; k < size; k++) x[i]! -= lower[k * size + i]! * x[k]!
        x[i]! /= lower[i * size + i]!
      }
      return x
    },
  }
}

import { inverse, LuDecomposition, Matrix } from 'ml-matrix'

/**
 * Solution of a square system; null when it has none.
 * @param matrix size x size, row by row; not changed
 */
export function solveLinear(matrix: Float64Array, right: Float64Array, size: number): Float64Array | null {
  const lu = new LuDecomposition(squareOf(matrix, size))
  return lu.isSingular() ? null : Float64Array.from(lu.solve(Matrix.columnVector(right)).to1DArray())
}

/** Inverse of a square matrix, row by row; null when it has none. */
export function invertMatrix(matrix: Float64Array, size: number): Float64Array | null {
  const square = squareOf(matrix, size)
  return new LuDecomposition(square).isSingular() ? null : Float64Array.from(inverse(square).to1DArray())
}

function squareOf(matrix: Float64Array, size: number): Matrix {
  if (matrix.length !== size * size)
    throw new RangeError(`matrix must be of size ${size}; got ${matrix.length} numbers`)
  return Matrix.from1DArray(size, size, matrix)
}

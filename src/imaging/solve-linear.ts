/**
 * Solution of a square system by elimination with row exchange; null when it has none that can be trusted.
 * @param matrix size x size, row by row; not changed
 */
export function solveLinear(matrix: Float64Array, right: Float64Array, size: number): Float64Array | null {
  if (matrix.length !== size * size || right.length !== size)
    throw new RangeError(`matrix and right side must be of size ${size}; got ${matrix.length} and ${right.length}`)
  const a = Float64Array.from(matrix)
  const x = Float64Array.from(right)
  let largest = 0
  for (const value of a) largest = Math.max(largest, Math.abs(value))
  for (let k = 0; k < size; k++) {
    let pivot = k
    for (let r = k + 1; r < size; r++) if (Math.abs(a[r * size + k]!) > Math.abs(a[pivot * size + k]!)) pivot = r
    if (!(Math.abs(a[pivot * size + k]!) > 1e-14 * largest)) return null
    if (pivot !== k) {
      for (let c = 0; c < size; c++) {
        const kept = a[k * size + c]!
        a[k * size + c] = a[pivot * size + c]!
        a[pivot * size + c] = kept
      }
      const kept = x[k]!
      x[k] = x[pivot]!
      x[pivot] = kept
    }
    for (let r = k + 1; r < size; r++) {
      const factor = a[r * size + k]! / a[k * size + k]!
      if (factor === 0) continue
      for (let c = k; c < size; c++) a[r * size + c]! -= factor * a[k * size + c]!
      x[r]! -= factor * x[k]!
    }
  }
  for (let k = size - 1; k >= 0; k--) {
    let sum = x[k]!
    for (let c = k + 1; c < size; c++) sum -= a[k * size + c]! * x[c]!
    x[k] = sum / a[k * size + k]!
  }
  return x
}

/** Inverse of a square matrix; null when it has none that can be trusted. */
export function invertMatrix(matrix: Float64Array, size: number): Float64Array | null {
  const inverse = new Float64Array(size * size)
  for (let c = 0; c < size; c++) {
    const unit = new Float64Array(size)
    unit[c] = 1
    const column = solveLinear(matrix, unit, size)
    if (column === null) return null
    for (let r = 0; r < size; r++) inverse[r * size + c] = column[r]!
  }
  return inverse
}

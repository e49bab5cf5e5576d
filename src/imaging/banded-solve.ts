/**
 * A symmetric positive definite matrix of which only a band is not zero, factored as L L' (Golub & Van Loan, Matrix Computations, 4.3.5) and solved.
 * The time goes with size x band x band, where a full matrix takes size cubed.
 */
export interface BandedMatrix {
  readonly size: number
  /** Entries below the diagonal, the diagonal included. */
  readonly band: number
  /** Row by row: entry (i, i - k) at `i * band + k`. */
  readonly values: Float64Array
}

export function bandedMatrix(size: number, band: number): BandedMatrix {
  return { size, band, values: new Float64Array(size * band) }
}

/**
 * Factors the matrix in place.
 * @returns solves for a right-hand side in place; null when the matrix is not positive definite
 */
export function factored({ size, band, values }: BandedMatrix): ((right: Float64Array) => void) | null {
  for (let i = 0; i < size; i++) {
    const first = Math.max(0, i - band + 1)
    for (let j = first; j <= i; j++) {
      let sum = values[i * band + i - j]!
      for (let k = Math.max(first, j - band + 1); k < j; k++)
        sum -= values[i * band + i - k]! * values[j * band + j - k]!
      if (j < i) values[i * band + i - j] = sum / values[j * band]!
      else if (sum > 0) values[i * band] = Math.sqrt(sum)
      else return null
    }
  }
  return right => {
    for (let i = 0; i < size; i++) {
      let sum = right[i]!
      for (let k = Math.max(0, i - band + 1); k < i; k++) sum -= values[i * band + i - k]! * right[k]!
      right[i] = sum / values[i * band]!
    }
    for (let i = size - 1; i >= 0; i--) {
      let sum = right[i]!
      for (let k = i + 1; k < Math.min(size, i + band); k++) sum -= values[k * band + k - i]! * right[k]!
      right[i] = sum / values[i * band]!
    }
  }
}

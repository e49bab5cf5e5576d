import { inverse, Matrix } from 'ml-matrix'
import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../src/demo/random.js'
import { decomposed } from '../../../src/imaging/positive-definite.js'

describe('decomposed', () => {
  it.each([1, 2, 7, 33])('solves and tells the determinant as ml-matrix does (size %i)', size => {
    const random = seededRandom(size)
    const root = Matrix.from1DArray(
      size,
      size,
      Array.from({ length: size * size }, () => random.normal()),
    )
    const matrix = root.mmul(root.transpose()).add(Matrix.eye(size))
    const found = decomposed(Float64Array.from(matrix.to1DArray()), size)!
    const right = Array.from({ length: size }, () => random.normal())
    const wanted = inverse(matrix).mmul(Matrix.columnVector(right)).to1DArray()
    found.solve(right).forEach((value, i) => {
      expect(value).toBeCloseTo(wanted[i]!, 10)
    })

    expect(Math.exp(found.logDeterminant / size)).toBeCloseTo(determinantRoot(matrix), 8)
  })

  it('refuses what is not positive definite or of another size', () => {
    expect(decomposed(Float64Array.of(1, 2, 2, 1), 2)).toBeNull()
    expect(decomposed(Float64Array.of(Number.NaN), 1)).toBeNull()
    expect(() => decomposed(Float64Array.of(1, 2), 2)).toThrow('matrix must be of size 2; got 2 numbers')
  })
})

/** The size-th root of the determinant, by elimination. */
function determinantRoot(matrix: Matrix): number {
  const rows = matrix.to2DArray()
  let root = 1
  for (let k = 0; k < rows.length; k++) {
    root *= rows[k]![k]! ** (1 / rows.length)
    for (let i = k + 1; i < rows.length; i++) {
      const share = rows[i]![k]! / rows[k]![k]!
      for (let j = k; j < rows.length; j++) rows[i]![j]! -= share * rows[k]![j]!
    }
  }
  return root
}

import { describe, expect, it } from 'vitest'
import { invertMatrix, solveLinear } from '../../../src/imaging/solve-linear.js'

/** Rows (2, 1), (1, 3): determinant 5. */
const square = Float64Array.of(2, 1, 1, 3)

describe('solveLinear and invertMatrix', () => {
  it('solve what can be solved by hand, and leave the matrix alone', () => {
    const x = solveLinear(square, Float64Array.of(5, 10), 2)!
    expect(x[0]).toBeCloseTo(1, 12)
    expect(x[1]).toBeCloseTo(3, 12)
    const inverse = [...invertMatrix(square, 2)!]
    for (const [i, wanted] of [0.6, -0.2, -0.2, 0.4].entries()) expect(inverse[i]).toBeCloseTo(wanted, 12)
    expect([...square]).toEqual([2, 1, 1, 3])
  })

  it('are null for a matrix with two rows alike', () => {
    const flat = Float64Array.of(1, 2, 1, 2)
    expect(solveLinear(flat, Float64Array.of(1, 1), 2)).toBeNull()
    expect(invertMatrix(flat, 2)).toBeNull()
  })

  it('refuse a matrix of another size', () => {
    expect(() => solveLinear(square, Float64Array.of(1, 1, 1), 3)).toThrow('matrix must be of size 3; got 4 numbers')
  })
})

import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../src/demo/random.js'
import { bandedMatrix, factored } from '../../../src/imaging/banded-solve.js'
import { solveLinear } from '../../../src/imaging/solve-linear.js'

describe('a banded matrix', () => {
  it('solves as a full one does', () => {
    const random = seededRandom(3)
    const [size, band] = [40, 7]
    const matrix = bandedMatrix(size, band)
    const full = new Float64Array(size * size)
    for (let i = 0; i < size; i++)
      for (let k = 0; k < Math.min(band, i + 1); k++) {
        const value = k === 0 ? 10 + random.uniform() : random.between(-1, 1)
        matrix.values[i * band + k] = value
        full[i * size + i - k] = value
        full[(i - k) * size + i] = value
      }
    const right = Float64Array.from({ length: size }, () => random.between(-1, 1))
    const expected = solveLinear(full, right, size)!
    const solution = Float64Array.from(right)
    factored(matrix)!(solution)
    for (let i = 0; i < size; i++) expect(solution[i]).toBeCloseTo(expected[i]!, 10)
  })

  it('says so when it is not positive definite', () => {
    const matrix = bandedMatrix(2, 2)
    matrix.values.set([1, 0, 1, 2])
    expect(factored(matrix)).toBeNull()
  })
})

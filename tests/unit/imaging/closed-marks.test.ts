import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../src/demo/random.js'
import { closedMarks } from '../../../src/imaging/closed-marks.js'

/** Cell by cell, as the rule says it. */
function plain(light: Float32Array, columns: number, below: number): Uint8Array {
  const marks = Uint8Array.from(light, value => (value < below ? 1 : 0))
  const close = (i: number, step: number, square: boolean) => {
    if (marks[i + step] !== 0) return
    if (marks[i + 2 * step] === 1) marks[i + step] = 2
    else if (square && marks[i + 3 * step] === 1)
      marks.fill(2, i + step, i + step + 1).fill(2, i + 2 * step, i + 2 * step + 1)
  }
  for (let i = 0; i < marks.length; i++) {
    if (marks[i] !== 1) continue
    close(i, 1, true)
    close(i, columns, true)
    close(i, columns + 1, false)
    close(i, columns - 1, false)
  }
  return marks
}

describe('closedMarks', () => {
  it.each([
    [1, 50, 100],
    [2, 33, 66],
    [3, 16, 2],
    [4, 5, 33],
  ])('marks and closes as going from cell to cell does (seed %i, %i x %i)', (seed, columns, rows) => {
    const random = seededRandom(seed)
    const light = Float32Array.from({ length: columns * rows }, () => random.uniform())
    for (const below of [0.1, 0.5]) {
      const closed = closedMarks({ columns, rows, light }, below)
      expect(closed).toEqual(plain(light, columns, below))
      expect(closed.includes(2)).toBe(true)
    }
  })
})

import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../src/demo/random.js'
import { type CellRectangle, turnedRectangles } from '../../../src/imaging/turned-rectangles.js'

const [columns, rows] = [53, 41]

function found(labels: Uint8Array, least: number, most: number): CellRectangle[] {
  const all: CellRectangle[] = []
  const grid = { labels, columns, rows, wide: columns, high: rows, stepX: 1, stepY: 0 }
  turnedRectangles({ ...grid, rowStart: r => ({ x: 0.5, y: r + 0.5 }) }, 4, least, rectangle => {
    all.push(rectangle)
    return all.length === most
  })
  return all
}

/** Area of the largest rectangle of label 4, by trying every one. */
function largestArea(labels: Uint8Array, least: number): number {
  let most = 0
  for (let top = 0; top < rows; top++)
    for (let left = 0; left < columns; left++) {
      let wide = columns - left
      for (let r = top; r < rows && wide >= least; r++) {
        let run = 0
        while (run < wide && labels[r * columns + left + run] === 4) run++
        wide = run
        if (wide >= least && r - top + 1 >= least) most = Math.max(most, wide * (r - top + 1))
      }
    }
  return most
}

describe('turnedRectangles', () => {
  it.each([1, 2, 3])('finds the largest one, and then the largest of what is left (seed %i)', seed => {
    const random = seededRandom(seed)
    const labels = new Uint8Array(columns * rows).fill(4)
    for (let k = 0; k < 40; k++) labels[Math.floor(labels.length * random.uniform())] = 1
    const rectangles = found(labels, 3, 4)
    expect(rectangles).toHaveLength(4)
    for (const { left, top, width, height } of rectangles) {
      expect(width * height).toBe(largestArea(labels, 3))
      for (let r = top; r < top + height; r++)
        for (let c = left; c < left + width; c++) {
          expect(labels[r * columns + c]).toBe(4)
          labels[r * columns + c] = 0
        }
    }
  })

  it('finds none that is too narrow', () => {
    const labels = Uint8Array.from({ length: columns * rows }, (_, i) => (i % columns < 5 ? 4 : 0))
    expect(found(labels, 6, 1)).toEqual([])
    expect(found(labels, 5, 9)).toEqual([{ left: 0, top: 0, width: 5, height: rows }])
  })

  it('lays the cells over the labels at their turn', () => {
    // A square turned by 45 degrees is a rectangle of a grid turned by as much, and outside the labels there is nothing.
    const labels = Uint8Array.from({ length: columns * rows }, (_, i) =>
      Math.abs((i % columns) - 26) + Math.abs(Math.floor(i / columns) - 20) <= 17 ? 4 : 0,
    )
    const half = Math.SQRT1_2
    const all: CellRectangle[] = []
    const rowStart = (r: number) => ({ x: 26.5 - 30 * half - (r - 30) * half, y: 20.5 - 30 * half + (r - 30) * half })
    turnedRectangles(
      { labels, columns, rows, wide: 60, high: 60, rowStart, stepX: half, stepY: half },
      4,
      3,
      rectangle => {
        all.push(rectangle)
        return true
      },
    )
    // Its half side is 17 / sqrt 2 = 12 cells, give or take the one that a rim runs through.
    for (const side of [all[0]!.width, all[0]!.height]) expect(Math.abs(side - 24)).toBeLessThanOrEqual(2)
  })
})

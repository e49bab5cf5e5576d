import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../src/demo/random.js'
import { everyWindow, summedWindows } from '../../../src/imaging/area-windows.js'
import { freeWindows } from '../../../src/imaging/free-windows.js'
import { fullWindows } from '../../../src/imaging/full-windows.js'
import { innerCells } from '../../../src/imaging/inner-cells.js'
import { connectedRuns, labelComponents } from '../../../src/imaging/label-components.js'

/** Rectangles of labels 1 to 4 on 0, more rows and columns than are handed over at once. */
function page(seed: number, columns: number, rows: number) {
  const random = seededRandom(seed)
  const labels = new Uint8Array(columns * rows)
  for (let k = 0; k < 60; k++) {
    const [left, top] = [Math.floor(columns * random.uniform()), Math.floor(rows * random.uniform())]
    const [wide, high] = [1 + Math.floor(24 * random.uniform()), 1 + Math.floor(24 * random.uniform())]
    for (let r = top; r < Math.min(rows, top + high); r++)
      labels.fill(k % 5, r * columns + left, r * columns + Math.min(columns, left + wide))
  }
  return { labels, light: Float32Array.from(labels, () => random.uniform()) }
}

const SIZES: readonly [number, number, number][] = [
  [1, 83, 71],
  [2, 40, 130],
  [3, 17, 9],
  [4, 96, 64],
]

describe.each(SIZES)(
  'windows on a page of labels (seed %i, %i x %i) are those that trying each finds',
  (seed, columns, rows) => {
    const { labels, light } = page(seed, columns, rows)
    const whole = (column: number, row: number, width: number, height: number, is: (label: number) => boolean) => {
      for (let r = Math.max(0, row); r < Math.min(rows, row + height); r++)
        for (let c = Math.max(0, column); c < Math.min(columns, column + width); c++)
          if (!is(labels[r * columns + c]!)) return false
      return true
    }
    const places = Array.from(labels.keys(), at => ({ at, column: at % columns, row: Math.floor(at / columns) }))
    const fitting = (width: number, height: number, label: number) =>
      places.filter(
        ({ column, row }) =>
          column + width <= columns && row + height <= rows && whole(column, row, width, height, l => l === label),
      )

    it('full windows of one label', () => {
      const fits = fullWindows(labels, columns, rows, 4, 3, 2)
      expect(Array.from(fits.keys()).filter(at => fits[at] === 1)).toEqual(fitting(4, 3, 2).map(({ at }) => at))
    })

    it('the count, the first, the lightest and every third of each area', () => {
      const areas = connectedRuns(labels, columns, rows, 4)
      const windows = { columns, rows, fits: fullWindows(labels, columns, rows, 5, 4, 4), areas }
      const summary = summedWindows(windows, light, { across: 1, along: 1, wide: 3, high: 2 })
      const areaOf = labelComponents(labels, columns, rows, 4).labels
      const mean = (at: number) => {
        let sum = 0
        for (let r = 1; r < 3; r++) for (let c = 1; c < 4; c++) sum += light[at + r * columns + c]!
        return sum / 6
      }
      const found = fitting(5, 4, 4).map(({ at }) => at)
      const asked = areas.groups.map(({ label }) => ({ area: label, step: 3 })).reverse()
      const every = everyWindow(windows, asked, summary.count)
      asked.forEach(({ area }, k) => {
        const own = found.filter(at => areaOf[at] === area)
        expect(summary.count[area]).toBe(own.length)
        expect([...every[k]!]).toEqual(own.filter((_, i) => i % 3 === 0))
        if (own.length === 0) return
        expect(summary.first[area]).toBe(own[0])
        expect(summary.lightest[area]).toBe(own.reduce((best, at) => (mean(at) > mean(best) ? at : best)))
      })
    })

    it('every other window with two labels nowhere near', () => {
      const fits = fullWindows(labels, columns, rows, 3, 4, 0)
      const wanted = fitting(3, 4, 0)
        .filter(({ column, row }) => column % 2 === 0 && row % 2 === 0)
        .filter(({ column, row }) => whole(column - 2, row - 2, 7, 8, label => label !== 1 && label !== 3))
        .map(({ at }) => at)
      const plan = { columns, rows, width: 3, height: 4, apart: 2, from: [1, 3] as const }
      let told = -1
      const two = freeWindows(labels, fits, plan, count => {
        told = count
        return 2
      })
      expect(told).toBe(wanted.length)
      expect(two).toEqual(wanted.filter((_, i) => i % 2 === 0))
    })

    it('cells whose eight neighbours two off bear their own label', () => {
      const wanted = places
        .filter(({ at, column, row }) => {
          if (labels[at] !== 2 && labels[at] !== 4) return false
          if (column < 2 || row < 2 || column >= columns - 2 || row >= rows - 2) return false
          return [-2, 0, 2].every(r => [-2, 0, 2].every(c => labels[at + r * columns + c] === labels[at]))
        })
        .map(({ at }) => at)
      const found = innerCells({ columns, rows, labels, taking: [2, 4], reach: 2 }, () => 3)
      expect(found.count).toBe(wanted.length)
      expect([...found.cells]).toEqual(wanted.filter((_, i) => i % 3 === 0))
    })
  },
)

it('innerCells refuses a label that has no place in its table', () => {
  const cells = { columns: 2, rows: 2, labels: new Uint8Array(4), taking: [16], reach: 1 }
  expect(() => innerCells(cells, () => 1)).toThrow('labels must be below 16; got 16')
})

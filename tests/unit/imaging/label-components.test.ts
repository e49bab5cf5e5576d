import { describe, expect, it } from 'vitest'
import { labelComponents } from '../../../src/imaging/label-components.js'

describe('labelComponents', () => {
  it('joins by corners and keeps apart what does not touch', () => {
    const marks = Uint8Array.from([1, 0, 0, 0, 1, 0, 1, 0, 0, 0, 0, 1])
    const { labels, groups } = labelComponents(marks, 4, 3)
    expect([...labels]).toEqual([1, 0, 0, 0, 2, 0, 3, 0, 0, 0, 0, 3].map((v, i) => (i === 4 ? 1 : v === 3 ? 2 : v)))
    expect(groups.map(g => g.cells)).toEqual([2, 2])
    expect(groups[1]).toMatchObject({ left: 2, right: 3, top: 1, bottom: 2 })
  })

  it('labels nothing on an empty grid and refuses a wrong size', () => {
    expect(labelComponents(new Uint8Array(6), 3, 2).groups).toEqual([])
    expect(() => labelComponents(new Uint8Array(5), 3, 2)).toThrow('marks must have 6 entries; got 5')
  })
})

describe('labelComponents of grids of several marks', () => {
  const grid = (columns: number, rows: number) =>
    Uint8Array.from({ length: columns * rows }, (_, i) => ((i * 2654435761) % 4294967296) >> 29 || 200)

  it('takes the cells of one mark, or all that are not 0', () => {
    const marks = grid(70, 40)
    for (const mark of [1, 200]) {
      const only = Uint8Array.from(marks, value => (value === mark ? 1 : 0))
      expect(labelComponents(marks, 70, 40, mark)).toEqual(labelComponents(only, 70, 40))
    }
    expect(labelComponents(marks, 70, 40).groups).toHaveLength(1)
  })

  it('holds more runs than it keeps room for', () => {
    const [columns, rows] = [601, 500]
    // Columns of every other cell, joined by the last row.
    const marks = Uint8Array.from({ length: columns * rows }, (_, i) => (i % columns) % 2)
    expect(labelComponents(marks, columns, rows).groups).toHaveLength(300)
    marks.fill(1, columns * (rows - 1))
    const { labels, groups } = labelComponents(marks, columns, rows)
    expect(groups).toEqual([{ label: 1, cells: 300 * 499 + 601, left: 0, top: 0, right: 600, bottom: 499 }])
    expect(labels).toEqual(Int32Array.from(marks))
  })
})

describe('labelComponents against a flood fill', () => {
  it('groups random grids alike', () => {
    let state = 5
    const random = () => {
      state = (state * 1664525 + 1013904223) % 4294967296
      return state / 4294967296
    }
    for (let trial = 0; trial < 40; trial++) {
      const columns = 1 + Math.floor(random() * (trial % 2 === 0 ? 30 : 90))
      const rows = 1 + Math.floor(random() * 30)
      const marks = Uint8Array.from({ length: columns * rows }, () => (random() < 0.45 ? 1 : 0))
      const { labels, groups } = labelComponents(marks, columns, rows)
      const seen = new Int32Array(marks.length)
      let found = 0
      marks.forEach((mark, seed) => {
        if (mark === 0 || seen[seed] !== 0) return
        found++
        const stack = [seed]
        seen[seed] = found
        let cells = 0
        while (stack.length > 0) {
          const at = stack.pop()!
          cells++
          expect(labels[at]).toBe(found)
          for (let dr = -1; dr <= 1; dr++)
            for (let dc = -1; dc <= 1; dc++) {
              const c = (at % columns) + dc
              const r = Math.floor(at / columns) + dr
              const next = r * columns + c
              if (c < 0 || r < 0 || c >= columns || r >= rows || marks[next] === 0 || seen[next] !== 0) continue
              seen[next] = found
              stack.push(next)
            }
        }
        expect(groups[found - 1]!.cells).toBe(cells)
      })
      expect(groups).toHaveLength(found)
    }
  })
})

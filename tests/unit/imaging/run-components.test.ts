import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { labelComponents } from '../../../src/imaging/label-components.js'
import { runComponents } from '../../../src/imaging/run-components.js'

/** Components of a marked grid, fed run by run. */
function componentsOf(marks: Uint8Array, columns: number, rows: number) {
  const found: { cells: number; left: number; top: number; right: number; bottom: number; sums: number[] }[] = []
  const feed = runComponents(c =>
    found.push({
      cells: c.cells,
      left: c.left,
      top: c.top,
      right: c.right,
      bottom: c.bottom,
      sums: [c.sumColumn, c.sumRow, c.sumColumn2, c.sumRow2, c.sumBoth],
    }),
  )
  for (let r = 0; r < rows; r++) {
    feed.startRow(r)
    for (let c = 0; c < columns; c++) {
      if (marks[r * columns + c] === 0) continue
      const left = c
      while (c + 1 < columns && marks[r * columns + c + 1] !== 0) c++
      feed.addRun(left, c)
    }
    feed.endRow()
  }
  feed.finish()
  return found
}

const order = (a: { top: number; left: number; cells: number }, b: { top: number; left: number; cells: number }) =>
  a.top - b.top || a.left - b.left || a.cells - b.cells

describe('runComponents', () => {
  it('finds on any grid the groups that labelling the whole finds, with their sums', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 14 }),
        fc.array(fc.integer({ min: 0, max: 1 }), { maxLength: 250 }),
        (columns, cells) => {
          const rows = Math.ceil(cells.length / columns)
          const marks = new Uint8Array(columns * rows)
          marks.set(cells)
          const { labels, groups } = labelComponents(marks, columns, rows)
          const wanted = groups.map(g => {
            const sums = [0, 0, 0, 0, 0]
            labels.forEach((label, i) => {
              if (label !== g.label) return
              const c = i % columns
              const r = Math.floor(i / columns)
              ;[c, r, c * c, r * r, c * r].forEach((value, k) => {
                sums[k]! += value
              })
            })
            return { cells: g.cells, left: g.left, top: g.top, right: g.right, bottom: g.bottom, sums }
          })
          const found = componentsOf(marks, columns, rows)
          const rounded = found.map(c => ({ ...c, sums: c.sums.map(s => Math.round(s * 1e6) / 1e6) }))
          expect(rounded.sort(order)).toEqual(wanted.sort(order))
        },
      ),
      { numRuns: 300, seed: 1 },
    )
  })

  it('uses the places of closed components again: a long page costs no more than a short one', () => {
    let closed = 0
    const feed = runComponents(() => closed++)
    for (let r = 0; r < 20_000; r++) {
      feed.startRow(r)
      if (r % 2 === 0) for (let c = 0; c < 8; c++) feed.addRun(4 * c, 4 * c + 1)
      feed.endRow()
    }
    feed.finish()
    expect(closed).toBe(80_000)
  })
})

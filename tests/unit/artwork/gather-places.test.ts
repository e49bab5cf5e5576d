import { describe, expect, it } from 'vitest'
import { gatherPlaces } from '../../../src/artwork/gather-places.js'
import { seededRandom } from '../../../src/demo/random.js'
import { labelComponents } from '../../../src/imaging/label-components.js'

describe('gatherPlaces', () => {
  it('finds the groups that labelling the whole page finds', () => {
    const random = seededRandom(3)
    const columns = 60
    const rows = 50
    const marks = Uint8Array.from({ length: columns * rows }, () =>
      random.uniform() < 0.35 ? 1 : random.uniform() < 0.2 ? 2 : 0,
    )
    for (const mark of [1, 2]) {
      const places = gatherPlaces(mark, 10_000)
      for (let r = 0; r < rows; r++) expect(places.row(r, marks.subarray(r * columns, (r + 1) * columns))).toBe(true)
      const { groups } = labelComponents(
        marks.map(m => (m === mark ? 1 : 0)),
        columns,
        rows,
      )
      const key = (g: { cells: number; left: number; right: number; top: number; bottom: number }) =>
        `${g.cells} ${g.left} ${g.right} ${g.top} ${g.bottom}`
      expect(places.groups().map(key).sort()).toEqual(groups.map(key).sort())
    }
  })

  it('stops when there are more groups than it may hold', () => {
    const places = gatherPlaces(1, 2)
    expect(places.row(0, Uint8Array.of(1, 0, 1))).toBe(true)
    expect(places.row(1, Uint8Array.of(0, 0, 0))).toBe(true)
    expect(places.row(2, Uint8Array.of(1, 0, 0))).toBe(false)
  })
})

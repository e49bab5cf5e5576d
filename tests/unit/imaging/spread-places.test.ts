import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../src/demo/random.js'
import { spreadPlaces } from '../../../src/imaging/spread-places.js'

const COLUMNS = 70

/** Looks at every place anew for each one it takes. */
function plain(cells: readonly number[], most: number, apart: number): number[] {
  const place = (cell: number) => ({ c: cell % COLUMNS, r: Math.floor(cell / COLUMNS) })
  const off = (cell: number, { c, r }: { c: number; r: number }) => (place(cell).c - c) ** 2 + (place(cell).r - r) ** 2
  const mean = (of: 'c' | 'r') => cells.reduce((sum, cell) => sum + place(cell)[of], 0) / cells.length
  const middle = { c: mean('c'), r: mean('r') }
  const taken = [cells.reduce((best, cell) => (off(cell, middle) < off(best, middle) ? cell : best))]
  const nearest = (cell: number) => Math.min(...taken.map(other => off(cell, place(other))))
  while (taken.length < most) {
    const far = cells.reduce((best, cell) => (nearest(cell) > nearest(best) ? cell : best))
    if (nearest(far) < apart ** 2) break
    taken.push(far)
  }
  return taken
}

describe('spreadPlaces', () => {
  it.each([1, 2, 3])('takes those that looking at all of them takes (seed %i)', seed => {
    const random = seededRandom(seed)
    const cells = Array.from({ length: 200 }, () => Math.floor(COLUMNS * 50 * random.uniform())).sort((a, b) => a - b)
    for (const [most, apart] of [
      [6, 3],
      [40, 9],
    ] as const) {
      const found = spreadPlaces(cells, COLUMNS, most, apart)
      expect(found).toEqual(plain(cells, most, apart))
      expect(found.length).toBeGreaterThan(3)
    }
    expect(spreadPlaces(cells, COLUMNS, 40, 9).length).toBeLessThan(40)
  })

  it('takes none of none', () => {
    expect(spreadPlaces([], COLUMNS, 6, 3)).toEqual([])
  })
})

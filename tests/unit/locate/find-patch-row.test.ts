import { describe, expect, it } from 'vitest'
import { findPatchRow } from '../../../src/locate/find-patch-row.js'
import { locatePart } from '../../../src/locate/locate-part.js'
import { locateScan } from '../../../src/locate/locate-scan.js'
import { paintedScan } from '../../support/bare-scan.js'

const CLEAR = 10 ** -0.05
/** Pixels of a millimetre at 600 dpi. */
const MM = 600 / 25.4

/** Patches of 5 mm a pitch of 8 apart in a row turned about the film's middle, on clear film in an open bed. */
function row(
  densities: readonly number[],
  turnDegrees: number,
  more: (c: number, r: number) => number | null = () => null,
) {
  const turn = (turnDegrees * Math.PI) / 180
  const size = Math.round((densities.length * 8 + 12) * MM)
  return locateScan(
    paintedScan(size, size, (c, r) => {
      if (Math.min(c, r, size - 1 - c, size - 1 - r) < 40) return 1
      const x = (c - size / 2) / MM
      const y = (r - size / 2) / MM
      const u = x * Math.cos(turn) + y * Math.sin(turn)
      const v = y * Math.cos(turn) - x * Math.sin(turn)
      const at = u / 8 + (densities.length - 1) / 2
      const index = Math.round(at)
      if (Math.abs(v) < 2.5 && Math.abs(at - index) * 8 < 2.5 && index in densities) return 10 ** -densities[index]!
      return more(c, r) ?? CLEAR
    }),
  )
}
const RISING = [0.8, 1.4, 2, 2.5, 2.8]

describe('findPatchRow', () => {
  it.each([
    [0.5, 'a row'],
    [91, 'a column'],
    [180.4, 'the other way round'],
    [30, 'askew'],
  ])('finds the row by itself, turned by %d degrees (%s), lightest first', turn => {
    const found = findPatchRow(row(RISING, turn), 5, 8)
    if (found.kind !== 'found') return expect.fail(found.because)
    expect(found.patches.map(p => p.index)).toEqual([0, 1, 2, 3, 4])
    const size = (5 * 8 + 12) * MM
    const angle = (turn * Math.PI) / 180
    for (const { index, centre } of found.patches) {
      const along = (index - 2) * 8 * MM
      expect(Math.abs(centre.column - (size / 2 + along * Math.cos(angle)))).toBeLessThan(0.3 * MM)
      expect(Math.abs(centre.row - (size / 2 + along * Math.sin(angle)))).toBeLessThan(0.3 * MM)
    }
  })

  it('takes the darker end as the last, and patches it cannot see as missing at the light end', () => {
    const found = findPatchRow(row([0.2, ...RISING.slice(1)].reverse(), 0.5), 5, 8)
    if (found.kind !== 'found') return expect.fail(found.because)
    expect(found.patches.map(p => p.index)).toEqual([1, 2, 3, 4])
    expect(found.notes[0]).toContain('Only 4 of 5 patches')
  })

  it('is not misled by a line of text beside the row', () => {
    const beside = (c: number, r: number) => (r > 80 && r < 130 && c % 60 < 50 && c > 200 && c < 900 ? 0.001 : null)
    expect(findPatchRow(row(RISING, 0.5, beside), 5, 8)).toMatchObject({ kind: 'found' })
  })

  it('refuses another pitch, a bare film and a row whose ends are alike', () => {
    expect(findPatchRow(row(RISING, 0.5), 5, 11)).toMatchObject({ kind: 'notFound' })
    expect(findPatchRow(row([], 0.5), 5, 8)).toMatchObject({
      kind: 'notFound',
      because: expect.stringContaining('0 inked areas'),
    })
    expect(findPatchRow(row([2, 2, 2, 2], 0.5), 4, 8)).toMatchObject({
      kind: 'notFound',
      because: expect.stringContaining('as dark'),
    })
  })
})

describe('locatePart', () => {
  it('keeps to its part, and borrows clear film where the part has none', () => {
    const located = row(RISING, 0.5)
    const found = findPatchRow(located, 5, 8)
    if (found.kind !== 'found') return expect.fail(found.because)
    const { centre } = found.patches[2]!
    const near = (reachMm: number) => (place: { column: number; row: number }) =>
      Math.max(Math.abs(place.column - centre.column), Math.abs(place.row - centre.row)) < reachMm * MM
    const cell = locatePart(located, near(3.9))
    expect(cell.edges).toHaveLength(4)
    for (const { rect } of cell.patches.solids) expect(near(2.5)({ column: rect.column, row: rect.row })).toBe(true)
    const inner = locatePart(located, near(2))
    expect(inner.patches.bases).toEqual(located.patches.bases)
    expect(inner.edges).toEqual([])
  })
})

import { describe, expect, it } from 'vitest'
import { matchFlaws } from '../../../src/compare/match-flaws.js'
import type { Flaw } from '../../../src/model/flaw.js'
import { flaws } from '../../support/flaw-evidence.js'

const UM = { across: 20, along: 20 }
/** Turned by a quarter and shifted: column and row of the baseline to those of the new scan. */
const MAP = { x0: 10_000, y0: 0, xx: 0, yx: 1, xy: -1, yy: 0 }
const moved = (column: number, row: number) => ({ column: 500 - row, row: column })

const scanOf = (list: readonly Partial<Flaw>[], change = {}) => ({
  flaws: flaws(
    {},
    {
      list: list.map((flaw, i) => ({ ...flaws({ pinhole: 1 }).list[0]!, id: `flaw-${i + 1}`, ...flaw })),
      ...change,
    },
  ),
  umPerPixel: UM,
  width: 600,
  height: 600,
})

describe('matchFlaws', () => {
  it('tells new, stayed, grown and gone through the way the film lies', () => {
    const before = scanOf([
      { place: { column: 100, row: 100 } },
      { place: { column: 200, row: 100 } },
      { place: { column: 300, row: 100 }, kind: 'speck', possibleDust: true },
    ])
    const after = scanOf([
      { place: moved(101, 99) },
      { place: moved(200, 102), diameterUm: 160, leakedMm2: 0.0201 },
      { place: moved(400, 300), kind: 'scratch', lengthMm: 3 },
    ])
    const changes = matchFlaws(before, after, MAP)!
    expect(changes.fresh).toEqual(['flaw-3'])
    expect(changes.grown).toEqual(['flaw-2'])
    expect(changes.stayed).toBe(2)
    expect(changes.gone).toHaveLength(1)
    expect(changes.gone[0]).toMatchObject({ kind: 'speck', possibleDust: true, place: moved(300, 100) })
  })

  it('says nothing of flaws that the coarser scan could not have found, nor of a page of noise', () => {
    const small = scanOf([{ place: moved(100, 100), diameterUm: 90 }])
    expect(matchFlaws(scanOf([], { leastUm: 85 }), small, MAP)!.fresh).toEqual([])
    expect(matchFlaws(scanOf([], { leastUm: 42 }), small, MAP)!.fresh).toEqual(['flaw-1'])
    expect(matchFlaws(scanOf([], { tooMany: true }), small, MAP)).toBeNull()
  })

  it('does not call gone what lies outside the new scan', () => {
    expect(matchFlaws(scanOf([{ place: { column: 100, row: 590 } }]), scanOf([]), MAP)!.gone).toEqual([])
  })
})

import { describe, expect, it } from 'vitest'
import type { FilmPlaces } from '../../../src/measure/film-evidence.js'
import { besideStrips, isBeside } from '../../../src/pipeline/beside-strips.js'

/** A strip on the slant: its corners in order. */
const STRIP = {
  corners: [
    { column: 100, row: 100 },
    { column: 300, row: 200 },
    { column: 260, row: 280 },
    { column: 60, row: 180 },
  ],
}
const patch = (column: number, row: number) => ({
  id: `solid-${column}`,
  kind: 'solid' as const,
  area: 1,
  rect: { column, row, width: 10, height: 10 },
})
const edge = (column: number, row: number) =>
  ({ from: { column, row }, to: { column: column + 20, row } }) as FilmPlaces['edges'][number]
const PLACES: FilmPlaces = {
  solids: [patch(175, 185), patch(20, 20)],
  lightest: [patch(175, 185), patch(290, 100)],
  bases: [{ ...patch(175, 185), kind: 'base' }],
  edges: [edge(170, 190), edge(100, 250)],
}

describe('besideStrips', () => {
  it('leaves the places outside every strip; bases may lie anywhere', () => {
    const left = besideStrips(PLACES, [STRIP])
    expect(left.solids).toEqual([patch(20, 20)])
    expect(left.lightest).toEqual([patch(290, 100)])
    expect(left.bases).toEqual(PLACES.bases)
    expect(left.edges).toEqual([edge(100, 250)])
  })

  it('leaves all where there is no strip', () => {
    expect(besideStrips(PLACES, [])).toBe(PLACES)
  })

  it('tells inside from outside whichever way the corners go round', () => {
    const back = { corners: [...STRIP.corners].reverse() }
    for (const strip of [STRIP, back]) {
      expect(isBeside([strip], 180, 190)).toBe(false)
      // In its box, but not in it.
      expect(isBeside([strip], 290, 110)).toBe(true)
      expect(isBeside([strip], 70, 270)).toBe(true)
    }
  })
})

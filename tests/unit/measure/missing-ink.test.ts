import { describe, expect, it } from 'vitest'
import { measureMissingInk } from '../../../src/measure/missing-ink.js'
import type { InkDifference } from '../../../src/model/artwork.js'
import { artworkEvidence, FITTED } from '../../support/artwork-evidence.js'

const rect = { column: 1, row: 2, width: 3, height: 4 }
const place = { place: { column: 2, row: 3 }, rect, areaMm2: 1.5, standardMm2: 0.03, tint: false }
const none = { areaMm2: 0, standardMm2: 0, count: 0, places: [] }
const DIFFERENCE: InkDifference = {
  extra: none,
  missing: { areaMm2: 1.5, standardMm2: 0.03, count: 1, places: [{ ...place, id: 'missing-1' }] },
  comparedMm2: 900,
  allowanceMm: { missing: 0.1, extra: 0.15 },
  leastMm2: 0.02,
  crowded: false,
}

function evidence(difference: InkDifference | null) {
  const film = artworkEvidence(FITTED)
  return { ...film, artwork: { ...film.artwork!, difference } }
}

describe('measureMissingInk', () => {
  it('sums the places, their rims in U', () => {
    const reading = measureMissingInk(evidence(DIFFERENCE))
    expect(reading).toMatchObject({ value: 1.5, unit: 'mm2', bound: null, n: 1 })
    expect(reading).toMatchObject({ expanded: expect.closeTo(2 * Math.hypot(0.03, 0.02 / Math.sqrt(3)), 9) })
    expect(reading).toMatchObject({ parts: [{ id: 'missing-1', value: 1.5, expanded: 0.06 }] })
  })

  it('is a bound when there were more places than could be held', () => {
    expect(measureMissingInk(evidence({ ...DIFFERENCE, crowded: true }))).toMatchObject({ bound: 'atLeast' })
  })

  it('says why there is none', () => {
    expect(measureMissingInk(artworkEvidence(undefined))).toMatchObject({ notAsked: true })
    expect(measureMissingInk(artworkEvidence(null))).toMatchObject({ because: 'the artwork could not be read' })
    expect(
      measureMissingInk(artworkEvidence({ kind: 'other', because: 'not this one', next: 'look', likeness: 0.1 })),
    ).toMatchObject({ because: 'not this one' })
    expect(measureMissingInk(evidence(null))).toMatchObject({ because: expect.stringContaining('none of the artwork') })
  })
})

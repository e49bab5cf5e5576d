import { describe, expect, it } from 'vitest'
import { isReading } from '../../../src/measure/film-evidence.js'
import { measureSizeErrorAcross } from '../../../src/measure/size-error-across.js'
import { artworkEvidence, FITTED } from '../../support/artwork-evidence.js'

describe('measureSizeErrorAcross', () => {
  it('is the length of the map’s axis, with the scanner’s scale by the direction it lies in', () => {
    const straight = measureSizeErrorAcross(artworkEvidence(FITTED, { across: 0.0002, along: 0.001, from: 'grid' }))
    if (!isReading(straight)) return expect.fail(straight.because)
    expect(straight.value).toBeCloseTo(0.25, 12)
    expect(straight.unit).toBe('%')
    // 0.005 % of the fit, 0.02 % of the scanner, 0.004 % of the film: U = 2 x root of squares.
    expect(straight.expanded).toBeCloseTo(2 * Math.hypot(0.005, 0.02, 0.004), 12)
    expect(straight.budget.map(part => part.name)).toEqual([
      'edges of the film',
      'scanner’s pixel size (grid)',
      'film and humidity',
    ])
    const turned = {
      ...FITTED,
      size: { ...FITTED.size, across: { ...FITTED.size.across!, shares: { across: 0, along: 1 } } },
    }
    const along = measureSizeErrorAcross(artworkEvidence(turned, { across: 0.0002, along: 0.001, from: 'resolution' }))
    if (!isReading(along)) return expect.fail(along.because)
    expect(along.expanded).toBeCloseTo(2 * Math.hypot(0.005, 0.1, 0.004), 12)
    expect(along.budget[1]!.name).toContain('resolution')
  })

  it('is not asked without an artwork, and not measured for one that is not this film’s', () => {
    const none = measureSizeErrorAcross(artworkEvidence(undefined))
    expect(isReading(none) ? null : none.notAsked).toBe(true)
    const unread = measureSizeErrorAcross(artworkEvidence(null))
    const other = measureSizeErrorAcross(
      artworkEvidence({ kind: 'other', because: 'it is another', next: 'look', likeness: 0.2 }),
    )
    const poor = measureSizeErrorAcross(artworkEvidence({ ...FITTED, size: { across: null, feed: null } }))
    for (const measured of [unread, other, poor]) {
      if (isReading(measured)) return expect.fail('it was measured')
      expect(measured.notAsked).toBeUndefined()
      expect(measured.because.length * measured.next.length).toBeGreaterThan(0)
    }
  })
})

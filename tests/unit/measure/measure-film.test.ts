import { describe, expect, it } from 'vitest'
import { locateScan } from '../../../src/locate/locate-scan.js'
import { gatherEvidence } from '../../../src/measure/film-evidence.js'
import { measureFilm } from '../../../src/measure/measure-film.js'
import { paintedScan } from '../../support/bare-scan.js'
import { flaws } from '../../support/flaw-evidence.js'
import { CONTOURS, inkFilm, SPIKE, scaleWith } from '../../support/ink-film.js'
import { rippled } from '../../support/rippled-evidence.js'
import { stripEvidence } from '../../support/strip-evidence.js'

describe('measureFilm', () => {
  it('takes every reading of a good film', () => {
    const { readings, notMeasured } = measureFilm({
      ...inkFilm({ sigma: 30, net: 3 }, scaleWith(SPIKE)),
      flaws: flaws({ pinhole: 2, speck: 1 }),
    })
    // Banding needs a solid larger than this one, size and ink an artwork, tints and lines a control strip.
    expect(notMeasured.map(n => [n.reading, n.notAsked])).toEqual([
      ['bandingAmplitude', true],
      ['bandingPitch', true],
      ['mottle', true],
      ['sizeErrorAcross', true],
      ['sizeErrorFeed', true],
      ['toneValueError', true],
      ['ruling', true],
      ['screenAngle', true],
      ['lineGain', true],
      ['missingInk', true],
      ['extraInk', true],
    ])
    expect(Object.keys(readings)).toHaveLength(15)
    for (const [name, reading] of Object.entries(readings)) {
      expect(Number.isFinite(reading.value)).toBe(true)
      // None of a kind of flaw is none: every pixel was looked at.
      if (!(name.endsWith('Count') && reading.value === 0)) expect(reading.expanded, name).toBeGreaterThan(0)
      const combined = Math.sqrt(reading.budget.reduce((sum, c) => sum + c.standard ** 2, 0))
      expect(reading.standard).toBeCloseTo(combined, 12)
      expect(reading.coverageFactor! * combined).toBeCloseTo(reading.expanded, 12)
      expect(reading.coverageFactor).toBeGreaterThanOrEqual(2)
    }
  })

  it('takes from the control strip what it tells first, keeps the artwork’s beside it, and looks for the worst on both', () => {
    const artwork = inkFilm({ sigma: 30, net: 3 }, scaleWith(SPIKE))
    const strip = inkFilm({ sigma: 20, net: 3 }, scaleWith(SPIKE))
    const { strip: own } = stripEvidence({ edges: strip.edges, solids: strip.solids })
    const both = measureFilm({ ...artwork, strip: own })
    const alone = measureFilm(strip)
    const beside = measureFilm(artwork)
    expect(both.readings.riseWidth!.value).toBe(alone.readings.riseWidth!.value)
    expect(both.artwork.riseWidth!.value).toBe(beside.readings.riseWidth!.value)
    expect(both.readings.riseWidthWorst!.value).toBe(beside.readings.riseWidthWorst!.value)
    expect(Object.keys(both.artwork)).toEqual(['solidDensity', 'riseWidth', 'fringeWidth', 'inkSpread', 'raggedness'])
    expect(both.edges).toHaveLength(artwork.edges.length + strip.edges.length)
    expect(both.readings.sizeErrorAcross!.value).toBeCloseTo(0.1, 12)
    expect(both.readings.sizeErrorFeed!.value).toBeCloseTo(0.2, 12)
    expect(beside.artwork).toEqual({})
  })

  it('takes banding from the strip’s own solids, and keeps that of the artwork’s', () => {
    const artwork = rippled({ amplitude: 0.02, pitchMm: 1.4 })
    const { strip } = stripEvidence({ ripple: rippled({ amplitude: 0.01, pitchMm: 0.8 }).ripple })
    const both = measureFilm({ ...artwork, strip })
    expect(both.readings.bandingAmplitude!.value).toBeCloseTo(100 * 0.01 * Math.SQRT1_2, 1)
    expect(both.artwork.bandingAmplitude!.value).toBeCloseTo(100 * 0.02 * Math.SQRT1_2, 1)
    expect(both.readings.bandingPitch!.value).toBeCloseTo(0.8, 2)
    expect(both.artwork.bandingPitch!.value).toBeCloseTo(1.4, 2)
    // A strip whose solids are out of view, or too deep, leaves it to the artwork.
    const unseen = stripEvidence({ ripple: { solids: [], tooDeep: 2, scanner: null } }).strip
    expect(measureFilm({ ...artwork, strip: unseen }).readings.bandingPitch!.value).toBeCloseTo(1.4, 2)
  })

  it('says why nothing was measured on bare film', () => {
    const bare = paintedScan(400, 400, (c, r) => (Math.max(Math.abs(c - 200), Math.abs(r - 200)) > 180 ? 1 : 0.9))
    const located = locateScan(bare)
    const none = measureFilm(gatherEvidence(bare, { ...located.patches, edges: located.edges }, CONTOURS))
    expect(Object.keys(none.readings)).toEqual(['baseDensity'])
    expect(none.notMeasured).toHaveLength(25)
    for (const n of none.notMeasured) expect(n.because.length * n.next.length).toBeGreaterThan(0)
  })
})

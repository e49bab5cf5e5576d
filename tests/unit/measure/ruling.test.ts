import { describe, expect, it } from 'vitest'
import { isReading } from '../../../src/measure/film-evidence.js'
import { measureRuling } from '../../../src/measure/ruling.js'
import { stripEvidence } from '../../support/strip-evidence.js'

describe('measureRuling', () => {
  it('is the mean of the tints; what is not known of the pixel’s length goes in', () => {
    const ruling = measureRuling(stripEvidence())
    if (!isReading(ruling)) return expect.fail(ruling.because)
    expect(ruling.value).toBeCloseTo(55, 12)
    expect(ruling.unit).toBe('lines/in')
    const coarse = measureRuling(stripEvidence({ scale: { across: 0.003, along: 0.003, from: 'resolution' } }))
    if (!isReading(coarse)) return expect.fail(coarse.because)
    expect(coarse.expanded).toBeGreaterThan(2 * 0.003 * 55)
    expect(ruling.expanded).toBeLessThan(0.2)
  })

  it('says what is missing', () => {
    const { strip, ...film } = stripEvidence()
    expect(measureRuling(film)).toMatchObject({ reading: 'ruling' })
    expect(measureRuling(stripEvidence({ screen: null }))).toMatchObject({
      because: 'the tints of the control strip show no rows of dots',
    })
    const grey = { ...strip.laid, identity: { ...strip.laid.identity, tints: 'grey' as const } }
    const none = measureRuling(stripEvidence({ screen: null, laid: grey }))
    expect(isReading(none) ? '' : none.because).toContain('left as grey')
  })
})

import { describe, expect, it } from 'vitest'
import { isReading } from '../../../src/measure/film-evidence.js'
import { measureToneValueError } from '../../../src/measure/tone-value-error.js'
import { stripEvidence, toneOf } from '../../support/strip-evidence.js'

describe('measureToneValueError', () => {
  it('is the error of the worst tint, whichever way it is off, with all tints behind it', () => {
    const full = measureToneValueError(stripEvidence())
    if (!isReading(full)) return expect.fail(full.because)
    expect(full.value).toBe(11)
    expect(full.unit).toBe('%')
    expect(full.expanded).toBeCloseTo(0.2, 12)
    expect(full.parts.map(part => [part.value, part.note])).toEqual([
      [6, 'tint of 20 %'],
      [11, 'tint of 50 %'],
      [-2, 'tint of 90 %'],
    ])
    const thin = measureToneValueError(stripEvidence({ tones: [toneOf(50, 49), toneOf(95, 90)] }))
    expect(isReading(thin) && thin.value).toBe(-5)
  })

  it('says what is missing', () => {
    const { strip, ...film } = stripEvidence()
    expect(strip.tones).toHaveLength(3)
    expect(measureToneValueError(film)).toMatchObject({ reading: 'toneValueError' })
    expect(measureToneValueError(stripEvidence({ tones: [] }))).toMatchObject({
      because: 'none of the control strip’s tints lies wholly on the scan',
    })
  })
})

import { describe, expect, it } from 'vitest'
import { measureBandingAmplitude } from '../../../src/measure/banding-amplitude.js'
import { isReading } from '../../../src/measure/film-evidence.js'
import { rippleNotes } from '../../../src/measure/ripple-notes.js'
import { rippled } from '../../support/rippled-evidence.js'

const read = (film: ReturnType<typeof rippled>) => {
  const measured = measureBandingAmplitude(film)
  if (!isReading(measured)) expect.fail(measured.because)
  return measured
}

describe('measureBandingAmplitude', () => {
  it('is the amplitude over the square root of two, of the stronger direction (closed form)', () => {
    const reading = read(rippled({ amplitude: 0.04, pitchMm: 1.3, weaker: 0.01 }))
    expect(reading.value).toBeCloseTo(4 / Math.SQRT2, 2)
    expect(reading.unit).toBe('%')
    expect(Math.abs(reading.value - 4 / Math.SQRT2)).toBeLessThan(reading.expanded)
    expect(reading.parts.map(part => part.id)).toEqual(['area-1', 'area-1-other'])
    expect(reading.parts[1]!.value).toBeCloseTo(1 / Math.SQRT2, 1)
  })

  it('is nothing but its own U where there is no ripple', () => {
    const reading = read(rippled({ amplitude: 0, pitchMm: 1 }))
    expect(reading.value).toBeLessThan(0.03)
    expect(reading.value).toBeLessThan(reading.expanded + 0.03)
  })

  it('holds the scanner’s own ripple in U, and says so, when the film lies square', () => {
    const square = rippled({ amplitude: 0.03, pitchMm: 1, turn: 0, scannerRipple: 0.02 })
    const turned = rippled({ amplitude: 0.03, pitchMm: 1, turn: 12, scannerRipple: 0.02 })
    expect(read(square).expanded).toBeGreaterThan(2 * read(turned).expanded)
    expect(rippleNotes(square).join(' ')).toContain('lies so square on the glass')
    expect(rippleNotes(turned)).toEqual([])
  })

  it('is not measured, and no limit on it asked, without a large solid or in one that is too deep', () => {
    const none = measureBandingAmplitude(rippled({ amplitude: 0, pitchMm: 1, solids: 0 }))
    expect(none).toMatchObject({ reading: 'bandingAmplitude', notAsked: true })
    expect(measureBandingAmplitude(rippled({ amplitude: 0, pitchMm: 1, solids: 0, tooDeep: 2 }))).toMatchObject({
      because: expect.stringContaining('deeper than this scanner can tell'),
      notAsked: true,
    })
  })
})

import { describe, expect, it } from 'vitest'
import { measureBandingPitch } from '../../../src/measure/banding-pitch.js'
import { isReading } from '../../../src/measure/film-evidence.js'
import { rippled } from '../../support/rippled-evidence.js'

describe('measureBandingPitch', () => {
  it.each([0.6, 1.3, 3.5])('reads a pitch of %d mm (closed form)', pitchMm => {
    const reading = measureBandingPitch(rippled({ amplitude: 0.04, pitchMm }))
    if (!isReading(reading)) return expect.fail(reading.because)
    expect(reading.value / pitchMm).toBeCloseTo(1, 3)
    expect(Math.abs(reading.value - pitchMm)).toBeLessThan(reading.expanded)
    expect(reading.unit).toBe('mm')
  })

  it('is not measured when nothing stands out', () => {
    expect(measureBandingPitch(rippled({ amplitude: 0, pitchMm: 1 }))).toMatchObject({
      because: 'no regular band stands out of the noise in any solid',
    })
  })
})

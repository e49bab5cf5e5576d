import { describe, expect, it } from 'vitest'
import { isReading } from '../../../src/measure/film-evidence.js'
import { measureScreenAngle } from '../../../src/measure/screen-angle.js'
import { stripEvidence } from '../../support/strip-evidence.js'

const screenAt = (...angles: number[]) => ({
  first: { x: 2, y: 0 },
  second: { x: 0, y: 2 },
  tints: angles.map(angle => ({ percent: 50, ruling: 55, angle })),
})

describe('measureScreenAngle', () => {
  it('is the mean of the tints', () => {
    const angle = measureScreenAngle(stripEvidence())
    if (!isReading(angle)) return expect.fail(angle.because)
    expect(angle.value).toBeCloseTo(22.5, 12)
    expect(angle.unit).toBe('degrees')
    expect(angle.expanded).toBeLessThan(0.3)
  })

  it('averages across the quarter turn, where 89.9 and 0.1 are neighbours', () => {
    const angle = measureScreenAngle(stripEvidence({ screen: screenAt(89.9, 0.1) }))
    if (!isReading(angle)) return expect.fail(angle.because)
    expect(Math.min(angle.value, 90 - angle.value)).toBeLessThan(1e-9)
    const other = measureScreenAngle(stripEvidence({ screen: screenAt(0.1, 89.7) }))
    expect(isReading(other) && other.value).toBeCloseTo(89.9, 9)
  })

  it('says what is missing', () => {
    expect(measureScreenAngle(stripEvidence({ screen: null }))).toMatchObject({ reading: 'screenAngle' })
  })
})

import { describe, expect, it } from 'vitest'
import { isReading } from '../../../src/measure/film-evidence.js'
import { measureSpeckLargest } from '../../../src/measure/speck-largest.js'
import { flawEvidence, flaws } from '../../support/flaw-evidence.js'

describe('measureSpeckLargest', () => {
  it('is the diameter of its own largest, with its U, and where all of its kind are, the largest first', () => {
    const reading = measureSpeckLargest(flawEvidence(flaws({ speck: 3, pinhole: 6 })))
    if (!isReading(reading)) return expect.fail(reading.because)
    expect(reading).toMatchObject({ value: 300, expanded: 10, unit: 'um', bound: null, n: 3, method: 'speckLargest@1' })
    expect(reading.parts.map(part => part.id)).toEqual(['flaw-speck-3', 'flaw-speck-2', 'flaw-speck-1'])
  })

  it('is at most what is found for certain when there is none', () => {
    const reading = measureSpeckLargest(flawEvidence(flaws({ pinhole: 6 })))
    if (!isReading(reading)) return expect.fail(reading.because)
    expect(reading).toMatchObject({ value: 42, bound: 'atMost', n: 0, parts: [] })
  })

  it('says why where nobody could look', () => {
    expect(measureSpeckLargest(flawEvidence(flaws({}, { tooMany: true })))).toMatchObject({ reading: 'speckLargest' })
  })
})

import { describe, expect, it } from 'vitest'
import { isReading } from '../../../src/measure/film-evidence.js'
import { measurePinholeLargest } from '../../../src/measure/pinhole-largest.js'
import { flawEvidence, flaws } from '../../support/flaw-evidence.js'

describe('measurePinholeLargest', () => {
  it('is the diameter of its own largest, with its U, and where all of its kind are, the largest first', () => {
    const reading = measurePinholeLargest(flawEvidence(flaws({ pinhole: 3, speck: 6 })))
    if (!isReading(reading)) return expect.fail(reading.because)
    expect(reading).toMatchObject({
      value: 300,
      expanded: 10,
      unit: 'um',
      bound: null,
      n: 3,
      method: 'pinholeLargest@1',
    })
    expect(reading.parts.map(part => part.id)).toEqual(['flaw-pinhole-3', 'flaw-pinhole-2', 'flaw-pinhole-1'])
  })

  it('is at most what is found for certain when there is none', () => {
    const reading = measurePinholeLargest(flawEvidence(flaws({ speck: 6 })))
    if (!isReading(reading)) return expect.fail(reading.because)
    expect(reading).toMatchObject({ value: 42, bound: 'atMost', n: 0, parts: [] })
  })

  it('says why where nobody could look', () => {
    expect(measurePinholeLargest(flawEvidence(flaws({}, { tooMany: true })))).toMatchObject({
      reading: 'pinholeLargest',
    })
  })
})

import { describe, expect, it } from 'vitest'
import { isReading } from '../../../src/measure/film-evidence.js'
import { largestFlaw } from '../../../src/measure/largest-flaw.js'
import { flawEvidence, flaws } from '../../support/flaw-evidence.js'

describe('largestFlaw', () => {
  it('is a bound when the largest may be dust: wiped off, the next one is the largest', () => {
    const reading = largestFlaw(flawEvidence(flaws({ speck: 2 }, {}, { possibleDust: true })), 'speckLargest', [
      'speck',
    ])
    if (!isReading(reading)) return expect.fail(reading.because)
    expect(reading).toMatchObject({ value: 200, bound: 'atMost' })
    expect(reading.parts.map(part => part.value)).toEqual([200, 100])
  })
})

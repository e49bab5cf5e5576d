import { describe, expect, it } from 'vitest'
import { isReading } from '../../../src/measure/film-evidence.js'
import { measureSpeckCount } from '../../../src/measure/speck-count.js'
import { flawEvidence, flaws } from '../../support/flaw-evidence.js'

describe('measureSpeckCount', () => {
  it('counts its own kinds and no other', () => {
    const reading = measureSpeckCount(flawEvidence(flaws({ speck: 2, hair: 3, pinhole: 7 })))
    if (!isReading(reading)) return expect.fail(reading.because)
    expect(reading).toMatchObject({ value: 5, unit: 'count', bound: null, n: 5, method: 'speckCount@1' })
    const none = measureSpeckCount(flawEvidence(flaws({ pinhole: 7 })))
    if (!isReading(none)) return expect.fail(none.because)
    expect(none).toMatchObject({ value: 0, expanded: 0, bound: null })
  })

  it('says why where nobody could look', () => {
    expect(measureSpeckCount(flawEvidence({ because: 'dark all over', next: 'scan again' }))).toMatchObject({
      reading: 'speckCount',
      because: 'dark all over',
    })
  })
})

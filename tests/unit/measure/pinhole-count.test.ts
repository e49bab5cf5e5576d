import { describe, expect, it } from 'vitest'
import { isReading } from '../../../src/measure/film-evidence.js'
import { measurePinholeCount } from '../../../src/measure/pinhole-count.js'
import { flawEvidence, flaws } from '../../support/flaw-evidence.js'

describe('measurePinholeCount', () => {
  it('counts its own kinds and no other', () => {
    const reading = measurePinholeCount(flawEvidence(flaws({ pinhole: 2, speck: 7 })))
    if (!isReading(reading)) return expect.fail(reading.because)
    expect(reading).toMatchObject({ value: 2, unit: 'count', bound: null, n: 2, method: 'pinholeCount@1' })
    const none = measurePinholeCount(flawEvidence(flaws({ speck: 7 })))
    if (!isReading(none)) return expect.fail(none.because)
    expect(none).toMatchObject({ value: 0, expanded: 0, bound: null })
  })

  it('says why where nobody could look', () => {
    expect(measurePinholeCount(flawEvidence({ because: 'dark all over', next: 'scan again' }))).toMatchObject({
      reading: 'pinholeCount',
      because: 'dark all over',
    })
  })
})

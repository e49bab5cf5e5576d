import { describe, expect, it } from 'vitest'
import { isReading } from '../../../src/measure/film-evidence.js'
import { measureScratchCount } from '../../../src/measure/scratch-count.js'
import { flawEvidence, flaws } from '../../support/flaw-evidence.js'

describe('measureScratchCount', () => {
  it('counts its own kinds and no other', () => {
    const reading = measureScratchCount(flawEvidence(flaws({ scratch: 2, pinhole: 7 })))
    if (!isReading(reading)) return expect.fail(reading.because)
    expect(reading).toMatchObject({ value: 2, unit: 'count', bound: null, n: 2, method: 'scratchCount@1' })
    const none = measureScratchCount(flawEvidence(flaws({ pinhole: 7 })))
    if (!isReading(none)) return expect.fail(none.because)
    expect(none).toMatchObject({ value: 0, expanded: 0, bound: null })
  })

  it('says why where nobody could look', () => {
    expect(measureScratchCount(flawEvidence({ because: 'dark all over', next: 'scan again' }))).toMatchObject({
      reading: 'scratchCount',
      because: 'dark all over',
    })
  })
})

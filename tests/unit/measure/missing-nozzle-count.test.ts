import { describe, expect, it } from 'vitest'
import { isReading } from '../../../src/measure/film-evidence.js'
import { measureMissingNozzleCount } from '../../../src/measure/missing-nozzle-count.js'
import { flawEvidence, flaws } from '../../support/flaw-evidence.js'

describe('measureMissingNozzleCount', () => {
  it('counts its own kinds and no other', () => {
    const reading = measureMissingNozzleCount(flawEvidence(flaws({ missingNozzle: 2, scratch: 7 })))
    if (!isReading(reading)) return expect.fail(reading.because)
    expect(reading).toMatchObject({ value: 2, unit: 'count', bound: null, n: 2, method: 'missingNozzleCount@1' })
    const none = measureMissingNozzleCount(flawEvidence(flaws({ scratch: 7 })))
    if (!isReading(none)) return expect.fail(none.because)
    expect(none).toMatchObject({ value: 0, expanded: 0, bound: null })
  })

  it('says why where nobody could look', () => {
    expect(measureMissingNozzleCount(flawEvidence({ because: 'dark all over', next: 'scan again' }))).toMatchObject({
      reading: 'missingNozzleCount',
      because: 'dark all over',
    })
  })
})

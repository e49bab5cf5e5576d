import { describe, expect, it } from 'vitest'
import { countFlaws } from '../../../src/measure/count-flaws.js'
import { isReading } from '../../../src/measure/film-evidence.js'
import { flawEvidence, flaws } from '../../support/flaw-evidence.js'

const counted = (found: Parameters<typeof flawEvidence>[0]) => {
  const reading = countFlaws(flawEvidence(found), 'pinholeCount', ['pinhole'])
  if (!isReading(reading)) throw new Error(reading.because)
  return reading
}

describe('countFlaws', () => {
  it('is unsure by the share that may be missed and by those near the least size', () => {
    expect(counted(flaws({ pinhole: 4 })).expanded).toBeCloseTo(2 * Math.sqrt(0.04), 12)
    // One of 100 um, where 95 are found for certain and U is 10: it may not count.
    expect(counted(flaws({ pinhole: 4 }, { leastUm: 95 })).expanded).toBeCloseTo(2 * Math.sqrt(0.04 + 0.25), 12)
  })

  it('is at most so many when some may be dust', () => {
    expect(counted(flaws({ pinhole: 2 }, {}, { possibleDust: true })).bound).toBe('atMost')
    expect(counted(flaws({ pinhole: 2, speck: 1 })).bound).toBeNull()
  })

  it('is not measured where nobody looked, nor on a page of noise', () => {
    expect(countFlaws(flawEvidence(undefined), 'pinholeCount', ['pinhole'])).toMatchObject({ reading: 'pinholeCount' })
    const noise = countFlaws(flawEvidence(flaws({}, { tooMany: true })), 'pinholeCount', ['pinhole'])
    expect(isReading(noise) ? '' : noise.because).toContain('more separate spots')
  })
})

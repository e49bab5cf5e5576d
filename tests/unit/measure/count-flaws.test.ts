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

  it('says where each one lies and how large it is', () => {
    const [first, second, ...more] = counted(flaws({ pinhole: 2, scratch: 1 }, { leastUm: 95 })).parts
    expect(more).toEqual([])
    // 100 um with U 10, where 95 are found for certain: it may not count.
    expect(first).toMatchObject({ id: 'flaw-pinhole-1', place: { column: 0, row: 5 }, value: 1, expanded: 1 })
    expect(second).toMatchObject({ id: 'flaw-pinhole-2', place: { column: 10, row: 5 }, value: 1, expanded: 0 })
    expect(second!.note).toBe('200 um across; light of 0.0314 mm2 of clear film')
    const lines = countFlaws(flawEvidence(flaws({ scratch: 1 })), 'scratchCount', ['scratch'])
    expect(isReading(lines) && lines.parts[0]!.note).toContain('2.0 mm long')
  })

  it('is not measured where nobody looked, nor on a page of noise', () => {
    expect(countFlaws(flawEvidence(undefined), 'pinholeCount', ['pinhole'])).toMatchObject({ reading: 'pinholeCount' })
    const noise = countFlaws(flawEvidence(flaws({}, { tooMany: true })), 'pinholeCount', ['pinhole'])
    expect(isReading(noise) ? '' : noise.because).toContain('more separate spots')
  })
})

import { describe, expect, it } from 'vitest'
import { adviceFor } from '../../../src/judge/advice.js'
import { judgeReading } from '../../../src/judge/judge-reading.js'
import { readingKind, wordFinding } from '../../../src/judge/word-finding.js'
import type { Limit } from '../../../src/model/job-type.js'
import type { Bound, LimitName, ReadingName } from '../../../src/model/reading.js'
import { LIMIT_NAMES } from '../../../src/settings/limit-ranges.js'
import { reading } from './measured-with.js'

function words(
  name: ReadingName,
  value: number,
  expanded: number,
  limit: Limit,
  bound: Bound | null = null,
  rule: 'guarded' | 'simple' = 'guarded',
) {
  const made = reading(name, value, expanded, bound)
  return wordFinding(name, made, limit, judgeReading(made, limit, rule))
}

describe('wordFinding', () => {
  it('says value, U, limit, unit and what it does, then what to do', () => {
    expect(words('solidDensity', 2.71, 0.03, { min: 3 })).toEqual({
      why: 'Solid density is 2.71 ± 0.03 D, below the 3.00 D this job needs; light will come through.',
      next: 'print again with more ink or a slower mode; if it stays low, try another film stock',
    })
    expect(words('riseWidth', 71.26, 3.1, { max: 60 }).why).toBe(
      'Edge rise width is 71.3 ± 3.1 um, above the 60.0 um this job allows; the edges on the stencil will be soft.',
    )
  })

  it('gives what rounds to nothing no sign, and says of growth that it is growth', () => {
    expect(words('densityLoss', -0.0004, 0.04, { max: 0.2 }).why).toBe(
      'Density loss is 0.00 ± 0.04 D; the job allows up to 0.20 D.',
    )
    const crept = words('edgeGrowth', 28.4, 0.8, { max: 20 })
    expect(crept.why).toContain('the ink has crept since the first scan')
    expect(crept.next).toContain('print this positive again')
  })

  it('says how sure a close one is', () => {
    const { why, next } = words('solidDensity', 3.54, 0.08, { min: 3.5 })
    expect(why).toBe(
      'Solid density is 3.54 ± 0.08 D, too close to call against the 3.50 D this job needs: about 84 % sure that it conforms.',
    )
    expect(next).toContain('densitometer')
    expect(words('riseWidth', 60, 90, { min: 59.99, max: 60.01 }).why).toContain('less than 1 % sure')
  })

  it('says what a bound leaves open and how to settle it', () => {
    expect(words('solidDensity', 2.6, 0.03, { min: 3 }, 'atLeast')).toEqual({
      why: 'Solid density is at least 2.60 D; that does not tell whether it reaches the 3.00 D this job needs.',
      next: 'read it on a transmission densitometer, or scan again as a bracket at a higher exposure',
    })
    expect(words('riseWidth', 70, 3, { max: 60 }, 'atMost').why).toBe(
      'Edge rise width is at most 70.0 um; that does not tell whether it stays within the 60.0 um this job allows.',
    )
  })

  it('says what a pass was held against, and leaves nothing to do', () => {
    expect(words('solidDensity', 3.42, 0.03, { min: 3, aim: 3.8 })).toEqual({
      why: 'Solid density is 3.42 ± 0.03 D; the job needs 3.00 D or more, best near 3.80 D.',
      next: '',
    })
    expect(words('riseWidth', 40, 3, { max: 60 }).why).toBe(
      'Edge rise width is 40.0 ± 3.0 um; the job allows up to 60.0 um.',
    )
    expect(words('riseWidth', 40, 3, { min: 20, max: 60 }).why).toContain('the job allows 20.0 um to 60.0 um.')
  })

  it('shows as many decimals as the verdict needs', () => {
    expect(words('solidDensity', 2.996, 0.002, { min: 3 }).why).toContain('2.996 ± 0.002 D, below the 3.000 D')
    expect(words('riseWidth', 59.9, 0.01, { max: 60 }).why).toContain('59.90 ± 0.01 um')
    expect(words('riseWidth', 59, 0.5, { max: 60.125 }).why).toContain('60.125 um')
    expect(words('solidDensity', 2.9999, 0.2, { min: 3 }, null, 'simple').why).toContain(
      '2.9999 ± 0.2000 D, below the 3.0000 D',
    )
    expect(words('solidDensity', 3, 0, { min: 3 }).why).toContain('is 3.00 D;')
  })

  it('has no number for an unusable reading', () => {
    const { why, next } = words('raggedness', Number.NaN, 1, { max: 15 })
    expect(why).toBe('Raggedness came out without a usable number, so it cannot be judged.')
    expect(next).toContain('scan again')
  })
})

describe('adviceFor', () => {
  it('has words for every reading, in every case', () => {
    for (const name of LIMIT_NAMES) {
      const { low, high, close, bound } = adviceFor(name)
      for (const text of [low.so, low.next, high.so, high.next, close, bound])
        expect(text, name).toMatch(/^[a-z].{5,}[^.;]$/)
    }
  })
})

describe('readingKind', () => {
  it.each([
    ['solidDensity', { label: 'Solid density', unit: 'D', decimals: 2 }],
    ['bandingAmplitude', { label: 'Banding', unit: '%', decimals: 2 }],
    ['pinholeCount', { label: 'Pinhole count', unit: 'count', decimals: 0 }],
    ['sizeErrorAcross', { label: 'Size error across the head', unit: '%', decimals: 3 }],
  ] as [LimitName, object][])('names %s', (name, kind) => {
    expect(readingKind(name)).toMatchObject(kind)
  })
})

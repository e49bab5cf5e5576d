import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { judgeReading } from '../../../src/judge/judge-reading.js'
import type { Bound } from '../../../src/model/reading.js'

const judge = (
  value: number,
  expanded: number,
  limit: { min?: number; max?: number },
  bound: Bound | null = null,
  rule: 'guarded' | 'simple' = 'guarded',
) => judgeReading({ value, expanded, bound }, limit, rule)

describe('judgeReading, guarded', () => {
  it.each([
    // U 0.25 and limits that binary numbers hold exactly
    [3.25, { min: 3 }, 'pass'],
    [3.2499, { min: 3 }, 'recheck'],
    [2.75, { min: 3 }, 'recheck'],
    [2.7499, { min: 3 }, 'fail'],
    [2.75, { max: 3 }, 'pass'],
    [2.7501, { max: 3 }, 'recheck'],
    [3.25, { max: 3 }, 'recheck'],
    [3.2501, { max: 3 }, 'fail'],
    [3.5, { min: 3, max: 4 }, 'pass'],
    [3.25, { min: 3, max: 3.5 }, 'pass'],
    [3.25, { min: 3, max: 3.4999 }, 'recheck'],
    [3.25, { min: 3.1, max: 3.4 }, 'recheck'],
    [2.7, { min: 3, max: 4 }, 'fail'],
    [4.3, { min: 3, max: 4 }, 'fail'],
  ])('%d ± 0.25 against %o is a %s', (value, limit, verdict) => {
    expect(judge(value, 0.25, limit).verdict).toBe(verdict)
  })

  it('says which end failed or could not be decided', () => {
    expect(judge(2, 0.25, { min: 3, max: 4 }).end).toBe('min')
    expect(judge(5, 0.25, { min: 3, max: 4 }).end).toBe('max')
    expect(judge(3.9, 0.25, { min: 3, max: 4 })).toMatchObject({ verdict: 'recheck', end: 'max', undecided: 'close' })
    expect(judge(3.5, 0.25, { min: 3, max: 4 }).end).toBeNull()
    expect(judge(3.1, 0.5, { min: 3, max: 3.3 }).end).toBe('min')
  })

  it('tells how far outside in units of U, of the limit when U is 0', () => {
    expect(judge(2, 0.25, { min: 3 }).distance).toBe(4)
    expect(judge(2, 0, { min: 4 }).distance).toBe(0.5)
    expect(judge(2, 0, { max: 0 }).distance).toBe(2)
  })
})

describe('judgeReading, simple', () => {
  it.each([
    [3, { min: 3 }, 'pass'],
    [2.9999, { min: 3 }, 'fail'],
    [3, { max: 3 }, 'pass'],
    [3.0001, { max: 3 }, 'fail'],
  ])('%d ± 0.25 against %o is a %s', (value, limit, verdict) => {
    expect(judge(value, 0.25, limit, null, 'simple').verdict).toBe(verdict)
  })
})

describe.each(['guarded', 'simple'] as const)('judgeReading of bounds, %s', rule => {
  it.each([
    ['atLeast', 3, { min: 3 }, 'pass'],
    ['atLeast', 2.9999, { min: 3 }, 'recheck'],
    ['atLeast', 3.0001, { max: 3 }, 'fail'],
    ['atLeast', 3, { max: 3 }, 'recheck'],
    ['atLeast', 0, { max: 3 }, 'recheck'],
    ['atLeast', 3.5, { min: 3, max: 4 }, 'recheck'],
    ['atLeast', 4.5, { min: 3, max: 4 }, 'fail'],
    ['atMost', 3, { max: 3 }, 'pass'],
    ['atMost', 3.0001, { max: 3 }, 'recheck'],
    ['atMost', 2.9999, { min: 3 }, 'fail'],
    ['atMost', 3, { min: 3 }, 'recheck'],
    ['atMost', 3.5, { min: 3, max: 4 }, 'recheck'],
    ['atMost', 2.5, { min: 3, max: 4 }, 'fail'],
  ] as const)('%s %d against %o is a %s', (bound, value, limit, verdict) => {
    const decision = judge(value, 0.25, limit, bound, rule)
    expect(decision.verdict).toBe(verdict)
    expect(decision.conformance).toBeNull()
    if (verdict === 'recheck') expect(decision.undecided).toBe('bound')
  })
})

describe('judgeReading, whatever comes', () => {
  const odd = fc.constantFrom(Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY)
  const number = fc.double({ min: -10, max: 10, noNaN: true })
  const size = fc.double({ min: 0, max: 5, noNaN: true })
  const bound = fc.constantFrom(null, 'atLeast' as const, 'atMost' as const)
  const rule = fc.constantFrom('guarded' as const, 'simple' as const)
  const limit = fc.oneof(
    number.map(min => ({ min })),
    number.map(max => ({ max })),
    fc.tuple(number, size).map(([min, width]) => ({ min, max: min + width })),
  )

  it('rechecks a value, an uncertainty or a limit that is no number', () => {
    fc.assert(
      fc.property(odd, number, size, bound, rule, limit, (bad, value, U, b, r, l) => {
        const recheck = { verdict: 'recheck', undecided: 'unusable' }
        expect(judge(bad, U, l, b, r)).toMatchObject(recheck)
        expect(judge(value, bad, l, b, r)).toMatchObject(recheck)
        expect(judge(value, -0.001, l, b, r)).toMatchObject(recheck)
        expect(judge(value, U, { ...l, min: bad }, b, r)).toMatchObject(recheck)
        expect(judge(value, U, { ...l, max: bad }, b, r)).toMatchObject(recheck)
        expect(judge(value, U, {}, b, r)).toMatchObject(recheck)
      }),
      { seed: 2, numRuns: 300 },
    )
  })

  it('never turns a recheck into a pass or a fail when U grows', () => {
    fc.assert(
      fc.property(number, size, size, limit, bound, (value, U, more, l, b) => {
        const before = judge(value, U, l, b).verdict
        const after = judge(value, U + more, l, b).verdict
        if (before === 'recheck') expect(after).toBe('recheck')
        else expect([before, 'recheck']).toContain(after)
      }),
      { seed: 3, numRuns: 1000 },
    )
  })

  it('is monotone in the value against one limit: fail, recheck, pass as it rises over a min', () => {
    const order = { fail: 0, recheck: 1, pass: 2 }
    fc.assert(
      fc.property(number, size, size, number, bound, rule, (value, rise, U, end, b, r) => {
        const low = order[judge(value, U, { min: end }, b, r).verdict]
        const high = order[judge(value + rise, U, { min: end }, b, r).verdict]
        expect(high).toBeGreaterThanOrEqual(low)
        const under = order[judge(value, U, { max: end }, b, r).verdict]
        const over = order[judge(value + rise, U, { max: end }, b, r).verdict]
        expect(over).toBeLessThanOrEqual(under)
      }),
      { seed: 4, numRuns: 1000 },
    )
  })

  it('says the same of the mirror image', () => {
    const turned = { atLeast: 'atMost', atMost: 'atLeast' } as const
    fc.assert(
      fc.property(number, size, number, bound, rule, (value, U, end, b, r) => {
        const here = judge(value, U, { min: end }, b, r).verdict
        expect(judge(-value, U, { max: -end }, b === null ? null : turned[b], r).verdict).toBe(here)
      }),
      { seed: 5, numRuns: 500 },
    )
  })

  it('passes no more by the guarded rule than by the simple one', () => {
    fc.assert(
      fc.property(number, size, limit, bound, (value, U, l, b) => {
        if (judge(value, U, l, b, 'guarded').verdict === 'pass')
          expect(judge(value, U, l, b, 'simple').verdict).toBe('pass')
      }),
      { seed: 6, numRuns: 500 },
    )
  })
})

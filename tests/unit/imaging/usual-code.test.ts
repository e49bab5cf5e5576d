import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { median, robustDeviation } from '../../../src/imaging/robust.js'
import { usualCode } from '../../../src/imaging/usual-code.js'

describe('usualCode', () => {
  it('is the sorted median and deviation, to the last bit, on any codes', () => {
    const clusters = fc.integer({ min: 0, max: 65535 }).chain(around =>
      fc.array(
        fc.integer({ min: -40, max: 40 }).map(off => Math.min(65535, Math.max(0, around + off))),
        { minLength: 1, maxLength: 200 },
      ),
    )
    const anywhere = fc.array(fc.integer({ min: 0, max: 65535 }), { minLength: 1, maxLength: 200 })
    fc.assert(
      fc.property(fc.oneof(clusters, anywhere), list => {
        const codes = Uint16Array.from(list)
        const usual = usualCode(codes)
        expect(usual.median).toBe(median(codes))
        expect(usual.deviation).toBe(robustDeviation(codes))
      }),
    )
  })

  it('has a middle between two codes when their number is even', () => {
    expect(usualCode(Uint16Array.of(10, 13))).toEqual({ median: 11.5, deviation: 1.4826 * 1.5 })
    expect(usualCode(Uint16Array.of(0, 65535)).median).toBe(32767.5)
    expect(usualCode(Uint16Array.of(7))).toEqual({ median: 7, deviation: 0 })
  })

  it('refuses an empty window', () => {
    expect(() => usualCode(new Uint16Array(0))).toThrow(RangeError)
  })
})

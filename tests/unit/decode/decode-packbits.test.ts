import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { decodePackBits } from '../../../src/decode/decode-packbits.js'
import { encodePackBits } from '../../support/tiff-writer.js'

describe('decodePackBits', () => {
  it('decodes runs, copies and the byte that means nothing', () => {
    const into = new Uint8Array(8)
    // 128 is to be passed over (TIFF 6.0, section 9).
    expect(decodePackBits(Uint8Array.of(0xfe, 0xaa, 0x80, 0x02, 1, 2, 3), into, 8)).toBe(6)
    expect([...into]).toEqual([0xaa, 0xaa, 0xaa, 1, 2, 3, 0, 0])
  })

  it('gives back whatever was packed', () => {
    fc.assert(
      fc.property(fc.array(fc.tuple(fc.nat(255), fc.integer({ min: 1, max: 300 })), { maxLength: 30 }), pairs => {
        const raw = Buffer.concat(pairs.map(([byte, count]) => Buffer.alloc(count, byte)))
        const into = new Uint8Array(raw.length)
        return decodePackBits(encodePackBits(raw), into, raw.length) === raw.length && raw.equals(into)
      }),
      { numRuns: 100, seed: 4 },
    )
  })

  it('stops at the end of the data or of what is wanted', () => {
    const into = new Uint8Array(10)
    expect(decodePackBits(Uint8Array.of(0x05, 1, 2), into, 10)).toBe(2)
    expect(decodePackBits(Uint8Array.of(0xfe), into, 10)).toBe(0)
    expect(decodePackBits(Uint8Array.of(0x81, 7), into, 5)).toBe(5)
    expect(into[5]).toBe(0)
  })
})

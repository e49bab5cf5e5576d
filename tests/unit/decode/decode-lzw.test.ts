import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { decodeLzw } from '../../../src/decode/decode-lzw.js'
import { encodeLzw } from '../../support/tiff-writer.js'

/** Packs codes of given widths, high bit first. */
function packed(...codes: [code: number, width: number][]): Uint8Array {
  const bits = codes.map(([code, width]) => code.toString(2).padStart(width, '0')).join('')
  const bytes = bits.padEnd(Math.ceil(bits.length / 8) * 8, '0').match(/.{8}/g)!
  return Uint8Array.from(bytes, byte => Number.parseInt(byte, 2))
}

describe('decodeLzw', () => {
  it('decodes the example of the standard', () => {
    // TIFF 6.0, section 13: 7 7 7 8 8 7 7 6 6 is coded as clear, 7, 258, 8, 8, 258, 6, 6, end.
    const codes = [256, 7, 258, 8, 8, 258, 6, 6, 257].map(code => [code, 9] as [number, number])
    const into = new Uint8Array(9)
    expect(decodeLzw(packed(...codes), into, 9)).toBe(9)
    expect([...into]).toEqual([7, 7, 7, 8, 8, 7, 7, 6, 6])
  })

  it('gives back whatever was packed, runs and noise, through a full table', () => {
    const runs = fc.array(fc.tuple(fc.nat(255), fc.integer({ min: 1, max: 400 })), { maxLength: 60 })
    const noise = fc.uint8Array({ maxLength: 9000 })
    fc.assert(
      fc.property(runs, noise, (pairs, tail) => {
        const raw = Buffer.concat([...pairs.map(([byte, count]) => Buffer.alloc(count, byte)), tail])
        const into = new Uint8Array(raw.length)
        return decodeLzw(encodeLzw(raw), into, raw.length) === raw.length && raw.equals(into)
      }),
      { numRuns: 60, seed: 3 },
    )
  })

  it('gives fewer bytes when the data ends, and no more than wanted when it does not', () => {
    const raw = Uint8Array.from({ length: 3000 }, (_, i) => (i * i) % 251)
    const whole = encodeLzw(raw)
    const into = new Uint8Array(3000)
    const made = decodeLzw(whole.subarray(0, whole.length >> 1), into, 3000)
    expect(made).toBeGreaterThan(0)
    expect(made).toBeLessThan(3000)
    expect(into.subarray(0, made)).toEqual(raw.subarray(0, made))
    const few = new Uint8Array(100)
    expect(decodeLzw(whole, few, 50)).toBe(50)
    expect(few.subarray(50)).toEqual(new Uint8Array(50))
    expect(decodeLzw(new Uint8Array(0), few, 50)).toBe(0)
  })

  it('refuses a code that is not defined yet, and takes the one that is just being defined', () => {
    const into = new Uint8Array(20)
    expect(decodeLzw(packed([256, 9], [65, 9], [258, 9], [257, 9]), into, 20)).toBe(3)
    expect([...into.subarray(0, 3)]).toEqual([65, 65, 65])
    expect(decodeLzw(packed([256, 9], [65, 9], [259, 9]), into, 20)).toBe(-1)
    expect(decodeLzw(packed([256, 9], [258, 9]), into, 20)).toBe(-1)
  })
})

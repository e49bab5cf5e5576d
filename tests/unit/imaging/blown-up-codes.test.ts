import { describe, expect, it } from 'vitest'
import { blownUpCodes } from '../../../src/imaging/blown-up-codes.js'

const bytes = Array.from({ length: 40 }, (_, i) => (i * 53) % 256)

describe('blownUpCodes', () => {
  it('knows bytes shifted up and bytes repeated', () => {
    expect(blownUpCodes(Uint16Array.from(bytes, b => b * 256))).toBe(true)
    expect(blownUpCodes(Uint16Array.from(bytes, b => b * 257))).toBe(true)
  })

  it('is cleared by one code that is neither, or by a mixture', () => {
    expect(blownUpCodes(Uint16Array.from([...bytes.map(b => b * 257), 1001]))).toBe(false)
    expect(blownUpCodes(Uint16Array.from([256, 257, ...bytes.map(b => b * 256)]))).toBe(false)
  })

  it('does not judge from fewer than eight different codes', () => {
    const few = (count: number) => Uint16Array.from({ length: 100 }, (_, i) => 257 * (i % count))
    expect(blownUpCodes(few(7))).toBe(false)
    expect(blownUpCodes(few(8))).toBe(true)
    expect(blownUpCodes(new Uint16Array(0))).toBe(false)
  })
})

import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { StripIdentity } from '../../../src/model/strip.js'
import { check, codeFieldFault, dpiOf, encodeStripCode, parseStripCode } from '../../../src/strip/strip-code.js'

const FULL: StripIdentity = {
  positive: 'regatta-front',
  jobType: 'fine-line',
  dpi: { across: 1440, along: 720 },
  form: 'standard',
  laid: 'feed',
  tints: 'screened',
  setting: 'ink 8',
  stock: 'stock-a',
  mode: 'fine',
  level: '8',
  printer: 'printer-1',
}

function withCheck(text: string): string {
  return `${text} ${check(text)}`
}

describe('the text of the code', () => {
  it('has the check value every CRC-16 of this kind has (0x29b1 for 123456789; from memory)', () => {
    expect(Number.parseInt(check('123456789'), 36)).toBe(0x29b1)
  })

  it('reads as it was written', () => {
    const text = encodeStripCode(FULL)
    expect(text).toBe(withCheck('1sfs regatta-front fine-line 1440x720 ink*8 stock-a fine 8 printer-1'))
    expect(parseStripCode(text)).toEqual({ kind: 'identity', identity: FULL })
  })

  it('leaves out what nobody told', () => {
    const { positive, jobType, form, laid, tints } = FULL
    const identity: StripIdentity = {
      positive,
      jobType,
      form,
      laid,
      tints,
      dpi: { across: 720, along: 720 },
      mode: 'a',
    }
    const text = encodeStripCode(identity)
    expect(text).toBe(withCheck('1sfs regatta-front fine-line 720   a'))
    expect(parseStripCode(text)).toEqual({ kind: 'identity', identity })
  })

  it('comes back the same for any names a shop may use', () => {
    const word = fc.stringMatching(/^[\p{L}\p{N}._+,()%-]{1,12}( [\p{L}\p{N}._+,()%-]{1,8})?$/u)
    const oneOf = <T>(...values: T[]) => fc.constantFrom(...values)
    fc.assert(
      fc.property(
        fc.record({
          positive: word,
          jobType: word,
          dpi: fc.record({ across: fc.integer({ min: 200, max: 5760 }), along: fc.integer({ min: 200, max: 5760 }) }),
          form: oneOf('standard' as const, 'short' as const, 'ladder' as const),
          laid: oneOf('head' as const, 'feed' as const),
          tints: oneOf('screened' as const, 'grey' as const),
          setting: word,
          level: word,
        }),
        identity => {
          const composed = Object.fromEntries(
            Object.entries(identity).map(([k, v]) => [k, typeof v === 'string' ? v.normalize('NFC') : v]),
          )
          expect(parseStripCode(encodeStripCode(identity))).toEqual({ kind: 'identity', identity: composed })
        },
      ),
      { numRuns: 60, seed: 6 },
    )
  })

  it('refuses to write what a path or a page would take as its own', () => {
    for (const positive of ['../../etc', 'a\\b', '<b>', 'a&b', 'a\u0000b', 'a\nb', ' a', 'a*b', 'a$b'])
      expect(() => encodeStripCode({ ...FULL, positive }), positive).toThrow(RangeError)
    expect(() => encodeStripCode({ ...FULL, dpi: { across: 199, along: 720 } })).toThrow(RangeError)
    expect(() => encodeStripCode({ ...FULL, dpi: { across: 720, along: 5761 } })).toThrow(RangeError)
  })

  it('takes a stranger for a stranger and says why a spoilt one is refused', () => {
    expect(parseStripCode('https://example.org/')).toEqual({ kind: 'other' })
    expect(parseStripCode('')).toEqual({ kind: 'other' })
    const because = (text: string) => {
      const parsed = parseStripCode(text)
      return parsed.kind === 'refused' ? parsed.because : parsed.kind
    }
    expect(because(encodeStripCode(FULL).replace('front', 'frond'))).toMatch(/check does not agree/)
    expect(because(withCheck('2sfs a bold 720'))).toMatch(/version 2/)
    expect(because(withCheck('1sfs ../../a bold 720'))).toBe('its positive holds a path')
    expect(because(withCheck('1sfs a <b> 720'))).toBe('its jobType holds markup')
    expect(because(withCheck('1sfs a bold 720 $1b$'))).toBe('its setting holds control characters')
    expect(because(withCheck('1sfs  bold 720'))).toBe('it names no positive')
    expect(because(withCheck('1sfs a bold 12'))).toBe('it names no printer resolution')
    expect(because(withCheck('1sfs a bold 720 a b c d e f'))).toMatch(/more fields/)
  })

  it('never throws, whatever was in the code', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 60 }), text => {
        parseStripCode(text)
        parseStripCode(withCheck(`1sfs ${text}`))
      }),
      { numRuns: 100, seed: 7 },
    )
  })

  it('knows resolutions', () => {
    expect(dpiOf('720')).toEqual({ across: 720, along: 720 })
    expect(dpiOf('1440x720')).toEqual({ across: 1440, along: 720 })
    for (const text of ['72', '1440x', 'x720', '720x6000', '7.2', '1440X720', '99999'])
      expect(dpiOf(text), text).toBeNull()
  })

  it('says what is wrong with a field', () => {
    expect(codeFieldFault('ink 80 %')).toBeNull()
    expect(codeFieldFault('')).toBeNull()
    expect(codeFieldFault('a/b')).toBe('holds a path')
  })
})

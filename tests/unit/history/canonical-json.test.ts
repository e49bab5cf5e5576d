import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { canonicalJson } from '../../../src/history/canonical-json.js'

describe('canonicalJson', () => {
  it('sorts keys by UTF-16 units at every depth, without spaces', () => {
    // The order of RFC 8785, 3.2.3: carriage return, 1, a control letter, ö, the euro sign, an astral letter, a private one.
    const keys = ['\u20ac', '\r', '\ufb33', '1', '\u{1f600}', '\u0080', '\u00f6']
    const text = canonicalJson(Object.fromEntries(keys.map(key => [key, { b: 1, a: [true, null] }])))
    expect(Object.keys(JSON.parse(text)).filter(key => key !== '1')).toEqual([
      '\r',
      '\u0080',
      '\u00f6',
      '\u20ac',
      '\u{1f600}',
      '\ufb33',
    ])
    expect(text).toContain('{"a":[true,null],"b":1}')
    expect(text).not.toContain(' ')
  })

  it('writes numbers as ECMAScript does and leaves out what is undefined', () => {
    expect(canonicalJson({ b: undefined, a: [1e21, 4.5, 2e-3, -0] })).toBe('{"a":[1e+21,4.5,0.002,0]}')
  })

  it.each([Number.NaN, Number.POSITIVE_INFINITY])('refuses %d', value => {
    expect(() => canonicalJson({ a: value })).toThrow('must be finite')
  })

  it('says the same of what JSON says the same of, and nothing else', () => {
    fc.assert(
      fc.property(fc.jsonValue(), value => {
        const again = JSON.parse(canonicalJson(value))
        expect(again).toEqual(JSON.parse(JSON.stringify(value)))
        expect(canonicalJson(again)).toBe(canonicalJson(value))
      }),
      { numRuns: 200 },
    )
  })
})

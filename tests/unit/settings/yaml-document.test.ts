import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import * as z from 'zod'
import { ProblemError } from '../../../src/model/problem.js'
import { LONGEST_SETTINGS_TEXT, readYaml } from '../../../src/settings/yaml-document.js'
import { problemOf } from './problem-of.js'

const schema = z.strictObject({
  share: z.number().min(0).max(25).default(10),
  label: z.string().max(5).exactOptional(),
  inner: z.strictObject({ wide: z.number().exactOptional() }).default({}),
})
const rules = { problem: 'SETTINGS_INVALID', textKeys: ['label'] } as const
const read = (text: string) => readYaml(text, 'a.yaml', schema, rules)
const what = (text: string) => problemOf(() => read(text)).what

describe('readYaml', () => {
  it('fills in defaults and freezes deeply', () => {
    const value = read('inner: { wide: 3 }')
    expect(value).toEqual({ share: 10, inner: { wide: 3 } })
    expect(Object.isFrozen(value)).toBe(true)
    expect(Object.isFrozen(value.inner)).toBe(true)
  })

  it.each(['', '\n', '# nothing but a remark\n', '---\n'])('takes an empty file %j as an empty map', text => {
    expect(read(text)).toEqual({ share: 10, inner: {} })
  })

  it('takes a byte-order mark and carriage returns', () => {
    expect(read('\ufeffshare: 4\r\ninner:\r\n  wide: 2\r\n')).toEqual({ share: 4, inner: { wide: 2 } })
  })

  it('names file, line, key, value, rule and the nearest right name, all faults at once and in line order', () => {
    expect(what('inner:\n  wyde: 1\nshare: 26\nlabel: toolong\n')).toBe(
      'a settings file is not right: a.yaml line 2, `inner.wyde`: there is no such key; did you mean `wide`?; ' +
        'line 3, `share` is 26; it must be 25 or less; line 4, `label` is "toolong"; it must have 5 or less characters',
    )
  })

  it('holds a range at its edge: 25 is read, 25.1 is not', () => {
    expect(read('share: 25').share).toBe(25)
    expect(what('share: 25.1')).toContain('`share` is 25.1; it must be 25 or less')
  })

  it.each(['.nan', '.inf', '"4"', 'null', '[4]', 'true'])('refuses %s as a number', text => {
    expect(what(`share: ${text}`)).toContain('it must be a number')
  })

  it('keeps text that looks like a number or a truth as it was written', () => {
    expect(read('label: 0012').label).toBe('0012')
    expect(read('label: 1e5').label).toBe('1e5')
    expect(read('label: yes').label).toBe('yes')
  })

  it('lists the known keys when none is near', () => {
    expect(what('zebra: 1')).toContain('`zebra`: there is no such key; known are share, label, inner')
  })

  it('says which line of a file that is not YAML is wrong', () => {
    expect(what('share: [1\nlabel: b')).toContain('line 2, not YAML as it should be')
    expect(what('share: 1\nshare: 2')).toContain('line 2, not YAML as it should be: Map keys must be unique')
    expect(what('share: 1\n---\nshare: 2')).toContain('multiple documents')
    expect(what('label: !!odd x')).toContain('Unresolved tag')
  })

  it('refuses aliases, lists and a __proto__ key', () => {
    expect(what('inner: &a { wide: 1 }\nlabel: *a')).toContain('line 2, aliases')
    expect(what('- 1')).toContain('the file must be `key: value` lines')
    expect(what('inner: { __proto__: { wide: 1 } }')).toContain('`__proto__` cannot be a key')
    expect(({} as Record<string, unknown>).wide).toBeUndefined()
  })

  it('reads a text of the longest length and refuses one more character', () => {
    const text = (length: number) => `share: 4\n#${'x'.repeat(length - 10)}`
    expect(read(text(LONGEST_SETTINGS_TEXT)).share).toBe(4)
    expect(what(text(LONGEST_SETTINGS_TEXT + 1))).toContain(`${LONGEST_SETTINGS_TEXT + 1} characters`)
  })

  it('drops blank keys only where told to', () => {
    const blank = { ...rules, blankIsAbsent: true }
    expect(readYaml('label:\nshare: 3', 'a.yaml', schema, blank)).toEqual({ share: 3, inner: {} })
    expect(what('label:\nshare: 3')).toContain('`label` is empty; it must be text')
  })

  it('keeps control characters and endless values out of the message', () => {
    const message = what(`label: "${'a\\u0007'.repeat(400)}"`)
    expect(message.length).toBeLessThan(300)
    expect(message).not.toMatch(/\p{Cc}/u)
  })

  it('throws nothing but a ProblemError, whatever the text', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 60 }), text => {
        try {
          read(text)
        } catch (error) {
          expect(error).toBeInstanceOf(ProblemError)
        }
      }),
      { seed: 7, numRuns: 100 },
    )
  })
})

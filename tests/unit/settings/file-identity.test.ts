import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { ProblemError } from '../../../src/model/problem.js'
import { checkPositiveName, compileFileNamePattern, positiveFromFileName } from '../../../src/settings/file-identity.js'
import { problemOf } from './problem-of.js'

const STANDARD = '<positive>[__<anything>].<ext>'

describe('positiveFromFileName', () => {
  it.each([
    ['crest-front.tif', 'crest-front'],
    ['crest-front__2026-03-01.tif', 'crest-front'],
    ['crest__a__b.tiff', 'crest'],
    ['job.12 black__x.y.png', 'job.12 black'],
    ['crest_front.TIF', 'crest_front'],
  ])('%s is %s by the default pattern', (file, positive) => {
    expect(positiveFromFileName(STANDARD, file)).toEqual({ positive, from: 'fileName' })
  })

  it('takes the whole stem when the pattern does not fit', () => {
    expect(positiveFromFileName('scan-<positive>.<ext>', 'crest.tif')).toEqual({ positive: 'crest', from: 'stem' })
    expect(positiveFromFileName(STANDARD, 'crest')).toEqual({ positive: 'crest', from: 'stem' })
  })

  it('reads other patterns, every sign standing for itself', () => {
    expect(positiveFromFileName('<anything>_(<positive>).<ext>', '0001_(crest).tif').positive).toBe('crest')
    expect(positiveFromFileName('<positive>[ v<anything>].tif', 'crest v2.tif').positive).toBe('crest')
    expect(positiveFromFileName('<positive>.tif', 'crestxtif').from).toBe('stem')
  })

  it('makes one name of both ways to write an accent', () => {
    expect(positiveFromFileName(STANDARD, 'caf\u0065\u0301.tif').positive).toBe('caf\u00e9')
  })

  it.each([
    ['<postive>.<ext>', 'did you mean <positive>?'],
    ['scan.<ext>', 'it holds it 0 times'],
    ['<positive><positive>', 'it holds it 2 times'],
    ['[<positive>].<ext>', 'must always be there'],
    ['<positive>[a[b]]', 'inside brackets'],
    ['<positive>[a', 'no closing one'],
    ['<positive>]', 'no opening one'],
    ['in/<positive>.<ext>', 'may not hold "/"'],
    ['<positive><anything>a<anything>b<anything>c<anything>', '3 times at most'],
    ['<positive>.<ext>.<ext>', '<ext> once'],
  ])('refuses the pattern %s', (pattern, fault) => {
    expect(compileFileNamePattern(pattern)).toEqual({ fault: expect.stringContaining(fault) })
    expect(problemOf(() => positiveFromFileName(pattern, 'a.tif')).what).toContain(fault)
  })

  it('either names a safe positive or says which name it refused, whatever the file is called', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'grapheme', maxLength: 140 }), name => {
        try {
          const { positive } = positiveFromFileName(STANDARD, `${name}.tif`)
          expect(positive).toMatch(/^[^/\\<>\p{C}]{1,120}$/u)
          expect(positive.startsWith('.')).toBe(false)
        } catch (error) {
          expect(error).toBeInstanceOf(ProblemError)
        }
      }),
      { seed: 11, numRuns: 500 },
    )
  })
})

describe('checkPositiveName', () => {
  it.each(['a', 'Crest front (2)', 'größe-40+41', '東京_1', 'x'.repeat(120), 'a.b', 'console'])('accepts %s', name => {
    expect(checkPositiveName(name)).toBe(name)
  })

  it.each([
    ['', 'is empty'],
    ['x'.repeat(121), 'has 121 characters'],
    ['../crest', 'path'],
    ['a\\b', 'path'],
    ['a\u0000b', 'control'],
    ['a\u202eb', 'control'],
    ['<b>crest', 'markup'],
    ['a&b', 'markup'],
    ['a:b', 'other characters'],
    ['a#b', 'other characters'],
    ['.crest', 'begins or ends'],
    ['crest.', 'begins or ends'],
    ['crest ', 'begins or ends'],
    ['NUL', 'device'],
    ['com1.x', 'device'],
  ])('refuses %j: it %s', (name, fault) => {
    const { code, what } = problemOf(() => checkPositiveName(name))
    expect(code).toBe('POSITIVE_NAME_INVALID')
    expect(what).toContain(fault)
  })
})

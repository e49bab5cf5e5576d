import { describe, expect, it } from 'vitest'
import { parseSidecar } from '../../../src/settings/sidecar-settings.js'
import { problemOf } from './problem-of.js'

const parse = (text: string) => parseSidecar(text, 'crest.tif.yaml')

describe('parseSidecar', () => {
  it('tells nothing when empty, and blank keys count as not given', () => {
    expect(parse('')).toEqual({})
    expect(parse('printer:\nmode: \nnote: ~\n')).toEqual({})
  })

  it('reads every key', () => {
    const text = `positive: 0012
jobType: halftone
scanner: flatbed-a
scannedAt: 2026-03-01T10:22:05+01:00
bracket: b1
printer: printer-1
mode: 720
stock: stock-a
setting: 8
temperature: 21.5
humidity: 48
note: dried over night
dpi: 1200
`
    expect(parse(text)).toEqual({
      positive: '0012',
      jobType: 'halftone',
      scanner: 'flatbed-a',
      scannedAt: '2026-03-01T10:22:05+01:00',
      bracket: 'b1',
      printer: 'printer-1',
      mode: '720',
      stock: 'stock-a',
      setting: '8',
      temperature: 21.5,
      humidity: 48,
      note: 'dried over night',
      dpi: 1200,
    })
  })

  it('holds `replaces` to the rule of names', () => {
    expect(parse('replaces: crest old')).toEqual({ replaces: 'crest old' })
    expect(problemOf(() => parse('replaces: "../crest"')).what).toContain('replaces')
  })

  it.each(['2026-03-01', '2026-03-01T10:22', '2026-03-01T10:22:05Z'])('takes %s as a time', text => {
    expect(parse(`scannedAt: ${text}`).scannedAt).toBe(text)
  })

  it.each(['1.3.2026', '2026-02-30', '2026-03-01 10:22', 'yesterday'])('refuses %s as a time', text => {
    expect(problemOf(() => parse(`scannedAt: ${text}`)).what).toContain(`\`scannedAt\` is "${text}"; it must be a`)
  })

  it.each([
    ['humidity', 100, 100.5],
    ['humidity', 0, -0.5],
    ['temperature', -20, -21],
    ['temperature', 60, 61],
    ['dpi', 50, 49],
  ])('%s may be %d and not %d', (key, good, bad) => {
    expect(parse(`${key}: ${good}`)).toEqual({ [key]: good })
    expect(problemOf(() => parse(`${key}: ${bad}`)).what).toContain(`\`${key}\` is ${bad}; it must be`)
  })

  it('refuses a positive that is no name, and a misspelt key', () => {
    const problem = problemOf(() => parse('positive: ../../etc\nhumidty: 3\n'))
    expect(problem.code).toBe('SIDECAR_INVALID')
    expect(problem.what).toContain('crest.tif.yaml line 1, `positive` is "../../etc"')
    expect(problem.what).toContain('line 2, `humidty`: there is no such key; did you mean `humidity`?')
  })
})

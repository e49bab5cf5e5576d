import { describe, expect, it } from 'vitest'
import {
  isNominalName,
  nominalCertificate,
  parseCertificate,
  UNSTATED_EXPANDED,
} from '../../../src/calibrate/certificate.js'
import { ProblemError } from '../../../src/model/problem.js'

const rows = (count: number, row: (i: number) => string) => Array.from({ length: count }, (_, i) => row(i)).join('\n')
const good = rows(6, i => `${i + 1},${(0.05 + 0.15 * i).toFixed(2)},0.02`)

function refusal(text: string): string {
  try {
    parseCertificate(text, 'tablet-a')
  } catch (error) {
    expect(error).toBeInstanceOf(ProblemError)
    expect((error as ProblemError).problem.code).toBe('TABLET_CSV_INVALID')
    return (error as ProblemError).problem.what
  }
  return expect.fail('was accepted')
}

describe('parseCertificate', () => {
  it('reads steps, densities and uncertainties', () => {
    const certificate = parseCertificate(good, 'tablet-a')
    expect(certificate.steps).toHaveLength(6)
    expect(certificate.steps[2]).toEqual({ step: 3, density: 0.35, expanded: 0.02 })
    expect(certificate).toMatchObject({ name: 'tablet-a', nominal: false, expandedAssumed: false })
  })

  it('accepts a heading, comments, blank lines, CRLF, a byte-order mark and quotes', () => {
    const text = `\uFEFF# tablet of the shop\r\nstep,density,expanded\r\n\r\n${good.replaceAll('\n', '\r\n')} # last\r\n`
    expect(parseCertificate(text, 'x').steps).toEqual(parseCertificate(good, 'x').steps)
    expect(parseCertificate(good.replace('1,0.05', '"1","0.05"'), 'x').steps[0]!.density).toBe(0.05)
  })

  it('takes U = 0.02 when the file states none, and says so', () => {
    const certificate = parseCertificate(
      rows(5, i => `${i + 1},${0.1 * (i + 1)}`),
      'x',
    )
    expect(certificate.expandedAssumed).toBe(true)
    expect(certificate.steps.every(step => step.expanded === UNSTATED_EXPANDED)).toBe(true)
  })

  it('refuses what other programs write, by name', () => {
    expect(refusal(good.replaceAll(',', ';'))).toMatch(/semicolon/)
    expect(refusal(good.replaceAll(',', '\t'))).toMatch(/tab/)
    expect(refusal(rows(6, i => `${i + 1},0,${String(5 + 15 * i).padStart(2, '0')}`))).toMatch(/decimal/)
    expect(refusal(rows(6, i => `${i + 1},0,${10 + i},0,02`))).toMatch(/decimals with a point/)
    expect(refusal(rows(6, i => `${i + 1},${90 - 12 * i}`))).toMatch(/percent/)
    expect(refusal(rows(6, i => `${i + 1},${90 - 12 * i}%`))).toMatch(/percent/)
    expect(refusal(rows(6, i => `${i + 1},${(0.9 - 0.12 * i).toFixed(2)}`))).toMatch(/transmittance/)
    expect(refusal(`step,transmittance\n${good}`)).toMatch(/transmittance/)
  })

  it('refuses steps out of order, falling or equal densities and values that are no numbers', () => {
    expect(refusal(good.replace('3,0.35', '4,0.35'))).toMatch(/line 3 .*step 4 where step 3/)
    expect(refusal(good.replace('3,0.35', '3,0.20'))).toMatch(/step 3 .*not above/)
    expect(refusal(good.replace('0.35', 'dark'))).toMatch(/density "dark"/)
    expect(refusal(good.replace('3,0.35,0.02', '3,0.35'))).toMatch(/line 3 has 2 columns/)
    expect(refusal(good.replace('1,0.05', '1,-0.05'))).toMatch(/-0.05/)
    expect(refusal('')).toMatch(/0 steps/)
  })

  it('holds the number of steps to 5..60', () => {
    expect(refusal(rows(4, i => `${i + 1},${0.1 * (i + 1)}`))).toMatch(/4 steps/)
    expect(
      parseCertificate(
        rows(5, i => `${i + 1},${0.1 * (i + 1)}`),
        'x',
      ).steps,
    ).toHaveLength(5)
    expect(
      parseCertificate(
        rows(60, i => `${i + 1},${(0.05 * (i + 1)).toFixed(2)}`),
        'x',
      ).steps,
    ).toHaveLength(60)
    expect(refusal(rows(61, i => `${i + 1},${(0.05 * (i + 1)).toFixed(2)}`))).toMatch(/61 steps/)
  })

  it('holds density to 0..6 and the uncertainty to above 0 and at most 1', () => {
    expect(parseCertificate(good.replace('6,0.80', '6,6'), 'x').steps[5]!.density).toBe(6)
    expect(refusal(good.replace('6,0.80', '6,6.01'))).toMatch(/6.01/)
    expect(parseCertificate(good.replace('1,0.05', '1,0'), 'x').steps[0]!.density).toBe(0)
    expect(parseCertificate(good.replace('0.05,0.02', '0.05,1'), 'x').steps[0]!.expanded).toBe(1)
    expect(refusal(good.replace('0.05,0.02', '0.05,1.01'))).toMatch(/1.01/)
    expect(refusal(good.replace('0.05,0.02', '0.05,0'))).toMatch(/uncertainty 0/)
  })
})

describe('nominalCertificate', () => {
  it('carries the usual scales with U growing from 0.03 to 0.10', () => {
    for (const [name, count, last] of [
      ['nominal-21', 21, 3.05],
      ['nominal-31', 31, 3.05],
    ] as const) {
      const { steps, nominal } = nominalCertificate(name)
      expect(nominal).toBe(true)
      expect(steps).toHaveLength(count)
      expect(steps[0]).toMatchObject({ density: 0.05, expanded: 0.03 })
      expect(steps.at(-1)!.density).toBe(last)
      expect(steps.at(-1)!.expanded).toBeCloseTo(0.1, 12)
    }
    expect(isNominalName('nominal-21')).toBe(true)
    expect(isNominalName('toString')).toBe(false)
  })
})

import { describe, expect, it } from 'vitest'
import {
  certificateText,
  isNominalName,
  nominalCertificate,
  parseCertificate,
  UNSTATED_EXPANDED,
} from '../../../src/calibrate/certificate.js'
import { type ProblemCode, ProblemError } from '../../../src/model/problem.js'

const rows = (count: number, row: (i: number) => string) => Array.from({ length: count }, (_, i) => row(i)).join('\n')
const good = rows(6, i => `${i + 1},${(0.05 + 0.15 * i).toFixed(2)},0.02`)

function refusal(text: string): { code: ProblemCode; what: string } {
  try {
    parseCertificate(text, 'tablet-a')
  } catch (error) {
    expect(error).toBeInstanceOf(ProblemError)
    return (error as ProblemError).problem
  }
  return expect.fail('was accepted')
}
const expectRefused = (text: string, code: ProblemCode, what: RegExp) => {
  const refused = refusal(text)
  expect(refused.what).toMatch(what)
  expect(refused.code).toBe(code)
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

  it('accepts semicolons, tabs and quotes with decimal commas, which can be read one way only', () => {
    const { steps } = parseCertificate(good, 'x')
    const comma = good.replaceAll(',', ';').replaceAll('.', ',')
    expect(parseCertificate(comma, 'x').steps).toEqual(steps)
    expect(parseCertificate(`Stufe;Dichte;Unsicherheit\r\n${comma}`, 'x').steps).toEqual(steps)
    expect(parseCertificate(good.replaceAll(',', ';'), 'x').steps).toEqual(steps)
    expect(parseCertificate(comma.replaceAll(';', '\t'), 'x').steps).toEqual(steps)
    const quoted = steps.map(s => `${s.step},"${String(s.density).replace('.', ',')}","0,02"`).join('\n')
    expect(parseCertificate(quoted, 'x').steps).toEqual(steps)
    expect(parseCertificate(good.replaceAll('\n', ',,\n'), 'x').steps).toEqual(steps)
  })

  it('accepts lines from the dense end, and columns in any order among others when a heading names them', () => {
    const { steps } = parseCertificate(good, 'x')
    expect(parseCertificate(good.split('\n').reverse().join('\n'), 'x').steps).toEqual(steps)
    const wide = steps.map(s => `batch 7,${s.expanded},${s.density},visual,${s.step}`).join('\n')
    expect(parseCertificate(`Batch,U (k=2),DENSITY,Filter,Step No.\n${wide}`, 'x').steps).toEqual(steps)
    const shares = steps.map(s => `${s.step},${(100 * 10 ** -s.density).toFixed(2)},${s.density}`).join('\n')
    expect(parseCertificate(`step,transmittance,density\n${shares}`, 'x').steps.map(s => s.density)).toEqual(
      steps.map(s => s.density),
    )
    expectRefused(`a,b,c,d,e\n${wide}`, 'TABLET_CSV_INVALID', /5 columns, and not one of them/)
    expectRefused(
      `step,visual density,blue density\n${good}`,
      'TABLET_CSV_INVALID',
      /2 columns of densities \(visual density, blue density\)/,
    )
    expectRefused(`step,density,standard uncertainty\n${good}`, 'TABLET_CSV_INVALID', /expanded uncertainty \(k = 2\)/)
  })

  it('reads UTF-8 and UTF-16, and refuses what is no text', () => {
    const utf16 = Buffer.from(`\uFEFF${good}`, 'utf16le')
    expect(parseCertificate(certificateText(utf16), 'x').steps).toHaveLength(6)
    expect(certificateText(utf16.swap16())).toBe(good)
    expect(certificateText(Buffer.from(good))).toBe(good)
    expect(() => certificateText(Buffer.from('II*\0\x08'))).toThrow(/no text file/)
  })

  it('refuses an empty file, a heading alone, and text', () => {
    for (const text of ['', '\n\n', '# nothing yet\n']) expectRefused(text, 'TABLET_CSV_EMPTY', /no steps/)
    expectRefused('step,density\n', 'TABLET_CSV_EMPTY', /heading and nothing below/)
    expectRefused('Dear sir,\nthe tablet is on its way.\n', 'TABLET_CSV_INVALID', /line 2/)
  })

  it('refuses decimal commas among commas', () => {
    const two = (i: number) => String(5 + 15 * i).padStart(2, '0')
    expectRefused(
      rows(6, i => `${i + 1},0,${two(i)}`),
      'TABLET_CSV_INVALID',
      /decimal commas/,
    )
    expectRefused(
      rows(6, i => `${i + 1},0,${10 + i},0,02`),
      'TABLET_CSV_INVALID',
      /decimals with a point/,
    )
    expectRefused(good.replaceAll(',', ';').replace('0.05', '1.000,05'), 'TABLET_CSV_INVALID', /one way only/)
  })

  it('refuses other units by what gives them away', () => {
    const unit = (row: (i: number) => string | number, what: RegExp) =>
      expectRefused(
        rows(12, i => `${i + 1},${row(i)}`),
        'TABLET_CSV_UNIT',
        what,
      )
    const density = (i: number) => 0.05 + 0.15 * i
    unit(i => (100 * 10 ** -density(i)).toFixed(2), /from 89.13 to 2, as percent of light/)
    unit(i => `${(100 * 10 ** -density(i)).toFixed(1)}%`, /percent values/)
    unit(i => (10 ** -density(i)).toFixed(4), /share of light/)
    unit(i => (10 ** -density(11 - i)).toFixed(4), /share of light/)
    unit(i => Math.round(100 * density(i)), /from 5 to 170, as densities times a hundred/)
    unit(i => (1000 * density(i)).toFixed(1), /no density passes 6/)
    unit(i => (10 ** density(i)).toFixed(2), /no density passes 6/)
    unit(i => (-density(i)).toFixed(2), /below 0 as the logarithms/)
    for (const heading of ['transmittance', 'T', 'T %', 'log exposure', 'Opacity'])
      expectRefused(`step,${heading}\n${good.replaceAll(',0.02', '')}`, 'TABLET_CSV_UNIT', /line 1 says/)
    // Densities that are all below 1, as far apart as light would be nowhere.
    expect(
      parseCertificate(
        rows(8, i => `${i + 1},${(0.04 + 0.1 * i).toFixed(2)}`),
        'x',
      ).steps,
    ).toHaveLength(8)
  })

  it('refuses densities that fall or do not rise', () => {
    const density = (i: number) => (0.05 + 0.15 * i).toFixed(2)
    const reversed = [/from the dense end/, 'TABLET_CSV_ORDER'] as const
    for (const count of [6, 21]) {
      expectRefused(
        rows(count, i => `${i + 1},${density(count - 1 - i)}`),
        reversed[1],
        reversed[0],
      )
      expectRefused(
        rows(count, i => `${count - i},${density(i)}`),
        reversed[1],
        reversed[0],
      )
    }
    expectRefused(good.replace('3,0.35', '3,0.20'), 'TABLET_CSV_ORDER', /step 3 has 0.2, not above the 0.2 of step 2/)
    expectRefused(good.replace('3,0.35', '3,0.53'), 'TABLET_CSV_ORDER', /step 4 has 0.5, not above/)
  })

  it('refuses steps that are missing or there twice', () => {
    expectRefused(good.replace('3,0.35,0.02\n', ''), 'TABLET_STEP_MISSING', /step 3 of 1 to 6/)
    expectRefused(good.replace('1,0.05,0.02\n', ''), 'TABLET_STEP_MISSING', /step 1 of 1 to 6/)
    expectRefused(good.replace('6,0.80', '60,0.80'), 'TABLET_STEP_MISSING', /steps 6, 7, 8, 9, 10 and more of 1 to 60/)
    expectRefused(good.replace('3,0.35', '4,0.35'), 'TABLET_STEP_TWICE', /step 4 on line 3 and on line 4/)
    expectRefused(
      rows(6, i => `${i},${(0.1 * i).toFixed(1)}`),
      'TABLET_CSV_INVALID',
      /line 1 is step 0/,
    )
  })

  it('refuses values that are no numbers and uncertainties for some steps only', () => {
    for (const cell of ['dark', 'NaN', 'Infinity', '', '0.3.5', '>3'])
      expectRefused(good.replace('0.35', cell), 'TABLET_CSV_INVALID', cell === '' ? /no density/ : /not a number/)
    expectRefused(good.replace('3,', '2.5,'), 'TABLET_CSV_INVALID', /step number 2.5/)
    expectRefused(good.replace('3,0.35,0.02', '3,0.35'), 'TABLET_CSV_INVALID', /line 3 has no uncertainty for step 3/)
    expectRefused(good.replace('3,0.35,0.02', '3,0.35,'), 'TABLET_CSV_INVALID', /line 3 has no uncertainty for step 3/)
    expectRefused(good.replaceAll(',0.02', '').replace('3,0.35', '3,0.35,0.02'), 'TABLET_CSV_INVALID', /line 3 has 3/)
    expectRefused(good.replace('3,0.35,0.02', '3'), 'TABLET_CSV_INVALID', /one column/)
    expectRefused(good.replace('1,0.05', '1,-0.05'), 'TABLET_CSV_INVALID', /step 1 has the density -0.05/)
  })

  it('holds the number of steps to 5..60', () => {
    expect(refusal(rows(4, i => `${i + 1},${0.1 * (i + 1)}`)).what).toMatch(/4 steps/)
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
    expect(refusal(rows(61, i => `${i + 1},${(0.05 * (i + 1)).toFixed(2)}`)).what).toMatch(/61 steps/)
  })

  it('holds density to 0..6 and the uncertainty to above 0 and at most 1', () => {
    expect(parseCertificate(good.replace('6,0.80', '6,6'), 'x').steps[5]!.density).toBe(6)
    expect(refusal(good.replace('6,0.80', '6,6.01')).what).toMatch(/6.01/)
    expect(parseCertificate(good.replace('1,0.05', '1,0'), 'x').steps[0]!.density).toBe(0)
    expect(parseCertificate(good.replace('0.05,0.02', '0.05,1'), 'x').steps[0]!.expanded).toBe(1)
    expect(refusal(good.replace('0.05,0.02', '0.05,1.01')).what).toMatch(/1.01/)
    expect(refusal(good.replace('0.05,0.02', '0.05,0')).what).toMatch(/uncertainty 0/)
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

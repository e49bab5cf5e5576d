import { describe, expect, it } from 'vitest'
import { parseStudyPlan, studyPlanFromFiles, studyValues } from '../../../src/trend/study-plan.js'
import { problemOf } from '../settings/problem-of.js'

const fault = (text: string, file = 'plan.csv') => {
  const { code, what } = problemOf(() => parseStudyPlan(text, file))
  expect(code).toBe('STUDY_PLAN_INVALID')
  return what
}

describe('a table of values', () => {
  it('is read with its one column', () => {
    const plan = parseStudyPlan(
      'part,operator,repeat,value\nfilm-1,early,1,3.42\nfilm-1,early,2,+3.4e0\n',
      'values.csv',
    )
    expect(plan).toEqual({
      kind: 'values',
      across: 'operator',
      readings: ['value'],
      rows: [
        { part: 'film-1', operator: 'early', repeat: 1, values: { value: 3.42 } },
        { part: 'film-1', operator: 'early', repeat: 2, values: { value: 3.4 } },
      ],
    })
  })

  it('takes any order of columns, several readings, quotes, comments, CRLF and a byte-order mark', () => {
    const plan = parseStudyPlan(
      '\uFEFF# spring\r\nRepeat,riseWidth,PART,placement,solidDensity\r\n\r\n2,41.5,"film, ""old""",left,3.5\r\n',
      'values.csv',
    )
    expect(plan).toMatchObject({ across: 'placement', readings: ['riseWidth', 'solidDensity'] })
    expect(plan.rows).toEqual([
      { part: 'film, "old"', operator: 'left', repeat: 2, values: { riseWidth: 41.5, solidDensity: 3.5 } },
    ])
  })

  it('gives the values of one reading', () => {
    const plan = parseStudyPlan('part,operator,repeat,a,b\nx,y,1,5,6\n', 'v.csv')
    if (plan.kind !== 'values') expect.fail('these are values')
    expect(studyValues(plan, 'b')).toEqual([{ part: 'x', operator: 'y', repeat: 1, value: 6 }])
    expect(problemOf(() => studyValues(plan)).what).toMatch(/no reading named, and there are several: "a", "b"/)
    expect(problemOf(() => studyValues(plan, 'c'))).toMatchObject({
      code: 'STUDY_READING_UNKNOWN',
      what: 'the gauge study has no reading "c"; it has "a", "b"',
    })
  })
})

describe('a plan of scans', () => {
  const csv = 'file,part,operator,repeat\nscans/a.tif,film-1,early,1\n"scans/b, 2.tif",film-1,early,2\n'
  const rows = [
    { part: 'film-1', operator: 'early', repeat: 1, file: 'scans/a.tif' },
    { part: 'film-1', operator: 'early', repeat: 2, file: 'scans/b, 2.tif' },
  ]

  it('as CSV', () => {
    expect(parseStudyPlan(csv, 'plan.csv')).toEqual({ kind: 'scans', across: 'operator', rows })
  })

  it('as YAML', () => {
    const yaml = rows.map(row => `- ${JSON.stringify(row)}`).join('\n')
    expect(parseStudyPlan(yaml, 'plan.yaml')).toEqual({ kind: 'scans', across: 'operator', rows })
  })

  it('as file names', () => {
    expect(studyPlanFromFiles(['in/film-1__left__1.tif', 'in\\film.v2__right bottom__02.tiff'])).toEqual({
      kind: 'scans',
      across: 'placement',
      rows: [
        { part: 'film-1', operator: 'left', repeat: 1, file: 'in/film-1__left__1.tif' },
        { part: 'film.v2', operator: 'right bottom', repeat: 2, file: 'in\\film.v2__right bottom__02.tiff' },
      ],
    })
  })

  it.each(['film-1.tif', 'film-1__1.tif', '__left__1.tif', 'a____1.tif', 'a__b__c__1.tif'])('not from %s', name => {
    expect(problemOf(() => studyPlanFromFiles([name])).what).toMatch(/its name is not <positive>__<operator>__<repeat>/)
  })

  it.each(['a__b__0.tif', 'a__b__x.tif', 'a__b__1.5.tif', 'a__b__-1.tif'])('nor a repeat from %s', name => {
    expect(problemOf(() => studyPlanFromFiles([name])).code).toBe('STUDY_PLAN_INVALID')
  })
})

describe('refused, with line, rule and value', () => {
  const HEAD = 'part,operator,repeat,value\n'
  it.each([
    ['', 'it holds no rows'],
    ['part,operator,repeat,value\n', 'it holds no rows'],
    ['part;operator;repeat;value\na;b;1;2\n', 'line 1: separate the columns with commas'],
    ['part,repeat,value\na,1,2\n', 'it has no column "operator"; it has "part", "repeat", "value"'],
    ['part,operator,placement,repeat,value\na,b,c,1,2\n', 'it has both operator and placement: keep one'],
    ['part,operator,repeat\na,b,1\n', 'it has no column "file", "value" or a reading'],
    ['part,operator,repeat,file,value\na,b,1,c.tif,2\n', 'it has both "file" and "value": give scans or values'],
    ['part,part,operator,repeat,value\na,a,b,1,2\n', 'line 1 has the column "part" twice'],
    ['part,operator,repeat,,value\na,b,1,2,3\n', 'line 1 has a column without a name'],
    [`${HEAD}a,b,1\n`, 'line 2 has 3 cells where the heading has 4: "a,b,1"'],
    [`${HEAD}a,b,1,3,42\n`, 'line 2 has 5 cells where the heading has 4'],
    [`${HEAD}a,b,1,"3,42"\n`, 'line 2 has the value "3,42", not a number with a decimal point'],
    [`${HEAD}a,b,1,NaN\n`, 'line 2 has the value "NaN", not a number'],
    [`${HEAD}a,b,1,0x10\n`, 'line 2 has the value "0x10", not a number'],
    [`${HEAD}a,b,1,1e999\n`, 'line 2 has the value "1e999", too large a number'],
    [`${HEAD}a,b,1,\n`, 'line 2 has no value'],
    [`${HEAD}\n,b,1,2\n`, 'line 3 has no part'],
    [`${HEAD}a,b,0,2\n`, 'line 2 has the repeat "0"; it must be a whole number from 1'],
    [`${HEAD}a,b,1.5,2\n`, 'line 2 has the repeat "1.5"'],
    [`${HEAD}"a,b,1,2\n`, 'line 2 has a quote that does not close'],
    ['part,operator,repeat,file\na,b,1,c.tif\na,b,2,c.tif\n', 'line 3 has the scan "c.tif" of line 2 again'],
  ])('%j', (text, wanted) => {
    expect(fault(text)).toContain(`plan.csv: ${wanted}`)
  })

  it.each([
    ['a: [', 'it is not YAML'],
    ['part: a', 'it must be a list'],
    ['- 3', 'entry 1 must hold part'],
    ['- {part: a, operator: b, repeat: 1, file: [c]}', 'entry 1 has a file that is neither text nor a number'],
    ['- {part: a, operator: b, repeat: 1, value: 2}\n- {part: a, repeat: 1, value: 2}', 'entry 2 has the keys'],
    ['- {part: a, operator: b, repeat: 1, value: .nan}', 'entry 1 has the value "NaN", not a number'],
    ['[]', 'it holds no rows'],
  ])('%j', (text, wanted) => {
    expect(fault(text, 'plan.yml')).toContain(`plan.yml: ${wanted}`)
  })
})

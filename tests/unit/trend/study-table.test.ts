import { describe, expect, it } from 'vitest'
import type { StudyValue } from '../../../src/model/gauge-study.js'
import { studyLayout, studyTable } from '../../../src/trend/study-table.js'
import { problemOf } from '../settings/problem-of.js'

/** Every part by every operator, `repeats` times; all values differ. */
function study(parts: number, operators: number, repeats: number): StudyValue[] {
  const rows: StudyValue[] = []
  for (let i = 1; i <= parts; i++)
    for (let j = 1; j <= operators; j++)
      for (let k = 1; k <= repeats; k++)
        rows.push({ part: `p${i}`, operator: `o${j}`, repeat: k, value: i + j / 10 + k / 100 })
  return rows
}

describe('a study is put into a table', () => {
  it('parts and operators as people count them, repeats by number, whatever the order of rows', () => {
    const { parts, operators, values } = studyTable(study(11, 2, 2).reverse())
    expect(parts.slice(0, 3)).toEqual(['p1', 'p2', 'p3'])
    expect(parts.at(-1)).toBe('p11')
    expect(operators).toEqual(['o1', 'o2'])
    expect(values[1]![0]).toEqual([2.11, 2.12])
  })

  it('names that count the same stand in one order too', () => {
    const rows = ['1', '01', '1.0'].flatMap(part =>
      [1, 2].map(repeat => ({ part, operator: 'a', repeat, value: repeat })),
    )
    expect(studyTable(rows).parts).toEqual(studyTable([...rows].reverse()).parts)
  })

  it('the smallest that will do: 2 parts, 1 operator, 2 repeats', () => {
    expect(studyTable(study(2, 1, 2)).values).toHaveLength(2)
  })

  it('repeats need not be numbered alike in every cell', () => {
    const rows = study(2, 1, 2).map(row => (row.part === 'p2' ? { ...row, repeat: row.repeat + 5 } : row))
    expect(studyTable(rows).values[1]![0]).toHaveLength(2)
  })
})

describe('refused, each with its own reason', () => {
  const code = (rows: readonly StudyValue[]) => problemOf(() => studyTable(rows))
  const change = (row: number, to: Partial<StudyValue>) =>
    study(2, 2, 2).map((r, i) => (i === row ? { ...r, ...to } : r))

  it.each([Number.NaN, Number.POSITIVE_INFINITY])('the value %d', value => {
    const { code: found, what } = code(change(3, { value }))
    expect(found).toBe('STUDY_VALUE_INVALID')
    expect(what).toContain(`part "p1" by "o2", repeat 2: the value must be a finite number, not ${value}`)
  })

  it.each([0, 1.5, -1, Number.NaN])('the repeat %d', repeat => {
    expect(code(change(0, { repeat })).what).toMatch(/repeat must be a whole number from 1/)
  })

  it.each([{ part: '' }, { operator: '' }])('no name: %j', to => {
    expect(code(change(0, to)).code).toBe('STUDY_VALUE_INVALID')
  })

  it('one measurement twice', () => {
    expect(code(change(1, { repeat: 1 }))).toMatchObject({
      code: 'STUDY_VALUE_TWICE',
      what: 'the gauge study has one measurement twice (part "p1" by "o1", repeat 1)',
    })
  })

  it('one part; no part', () => {
    expect(code(study(1, 3, 3)).what).toContain('parts: 1')
    expect(code([]).code).toBe('STUDY_TOO_FEW')
  })

  it('one repeat', () => {
    expect(code(study(4, 3, 1))).toMatchObject({ code: 'STUDY_TOO_FEW' })
    expect(code(study(4, 3, 1)).what).toContain('repeats of each part by each operator: 1')
  })

  it('a part one operator never measured', () => {
    const rows = study(3, 2, 2).filter(row => !(row.part === 'p2' && row.operator === 'o2'))
    expect(code(rows)).toMatchObject({ code: 'STUDY_VALUE_MISSING' })
    expect(code(rows).what).toContain('part "p2" by "o2": no value')
  })

  it('one repeat more here than there', () => {
    const rows = [...study(2, 2, 2), { part: 'p2', operator: 'o1', repeat: 3, value: 9 }]
    expect(code(rows)).toMatchObject({ code: 'STUDY_UNBALANCED' })
    expect(code(rows).what).toContain('part "p2" by "o1": 3; part "p1" by "o1": 2')
  })

  it('all values the same, and not when one differs', () => {
    const same = study(2, 2, 2).map(row => ({ ...row, value: 3.5 }))
    expect(code(same)).toMatchObject({ code: 'STUDY_NO_VARIATION' })
    expect(code(same).what).toContain('8 times 3.5')
    expect(studyTable(same.map((row, i) => (i === 0 ? { ...row, value: 3.51 } : row))).values).toHaveLength(2)
  })

  it('201 parts, and not 200', () => {
    expect(code(study(201, 1, 2))).toMatchObject({ code: 'STUDY_TOO_LARGE' })
    expect(studyTable(study(200, 1, 2)).parts).toHaveLength(200)
  })
})

it('a plan is checked before anything is measured', () => {
  const plan = study(2, 2, 2).map(({ part, operator, repeat }) => ({
    part,
    operator,
    repeat,
    file: `${part}${repeat}`,
  }))
  expect(studyLayout(plan).cells[1]![0]!.map(row => row.file)).toEqual(['p21', 'p22'])
  expect(problemOf(() => studyLayout(plan.slice(1))).code).toBe('STUDY_UNBALANCED')
})

import { describe, expect, it } from 'vitest'
import type { StudyValue } from '../../../src/model/gauge-study.js'
import { gaugeStudy } from '../../../src/trend/gauge-study.js'
import { wordFor } from '../../../src/trend/gauge-verdict.js'
import { simulatedStudy } from '../../support/simulated-study.js'

const SIZE = { parts: 10, operators: 3, repeats: 3 }
const rows = simulatedStudy(5, SIZE, { part: 1, operator: 0.02, interaction: 0, repeat: 0.1 })
const spread = 6 * gaugeStudy(rows).components.gauge.deviation
/** A tolerance of which the gauge takes up just this share. */
const takingUp = (percent: number) => {
  const half = (50 * spread) / percent
  return gaugeStudy(rows, { tolerance: { min: -half, max: half } }).verdict
}

describe('the word', () => {
  it.each([
    [0, 'good'],
    [9.999, 'good'],
    [10, 'marginal'],
    [30, 'marginal'],
    [30.001, 'poor'],
    [Number.NaN, 'poor'],
  ] as const)('%d %% of the room is %s', (percent, word) => {
    expect(wordFor(percent)).toBe(word)
  })

  it('goes by the tolerance where there is one, whatever the parts of the study', () => {
    expect(takingUp(9)).toMatchObject({ word: 'good', basis: 'tolerance' })
    expect(takingUp(20)).toMatchObject({ word: 'marginal', basis: 'tolerance' })
    expect(takingUp(31)).toMatchObject({ word: 'poor', basis: 'tolerance' })
    expect(gaugeStudy(rows).verdict).toMatchObject({ basis: 'studyVariation' })
  })
})

describe('what to do', () => {
  it('is said in words a printer can act on', () => {
    expect(takingUp(9).why).toBe('The gauge takes up 9.0\u00a0% of the tolerance: good enough for this tolerance.')
    expect(takingUp(9).next).toMatch(/^Use it\./)
    expect(takingUp(45).why).toBe(
      'The gauge takes up 45.0\u00a0% of the tolerance: not good enough for this tolerance.',
    )
    expect(takingUp(45).next).toMatch(/between repeats: clean glass and film.*judge no film by this reading alone\.$/)
    expect(takingUp(20).next).toMatch(/scan a film twice before you refuse it\.$/)
  })

  it('claims no more than one operator can show', () => {
    const alone = simulatedStudy(5, { ...SIZE, operators: 1 }, { part: 1, operator: 0, interaction: 0, repeat: 0.01 })
    expect(gaugeStudy(alone).verdict.why).toMatch(
      /good enough to tell these parts apart, as far as one operator can show\.$/,
    )
  })

  it('names the larger source', () => {
    const apart = simulatedStudy(5, SIZE, { part: 1, operator: 0.5, interaction: 0, repeat: 0.1 })
    expect(gaugeStudy(apart, { across: 'operator' }).verdict.next).toMatch(/between operators: agree on one way/)
    expect(gaugeStudy(apart, { across: 'placement' }).verdict.next).toMatch(/between placements: lay every film/)
  })
})

describe('what else a reader must know', () => {
  const notes = (values: readonly StudyValue[], tolerance?: { min: number; max: number }) =>
    gaugeStudy(values, tolerance === undefined ? {} : { tolerance }).notes.join('\n')

  it('a sound study of films that differ needs no remark', () => {
    expect(notes(rows)).toBe('')
  })

  it('one wild repeat is named with part and operator', () => {
    const wild = rows.map((row, i) => (i === 4 ? { ...row, value: row.value + 3 } : row))
    const { part, operator } = rows[4]!
    expect(notes(wild)).toContain(`Part ${part} by ${operator}: its repeats lie`)
  })

  it('many wild ranges are counted, not listed without end', () => {
    const wild = rows.map((row, i) => (i % 12 === 0 ? { ...row, value: row.value + 5 } : row))
    const found = gaugeStudy(wild)
    expect(found.cells.filter(cell => cell.flagged).length).toBeGreaterThan(5)
    expect(found.notes.filter(note => note.includes('its repeats lie'))).toHaveLength(5)
    expect(found.notes.join()).toMatch(/ more ranges lie above the control limit, of 30/)
  })

  it('operators who differ on some parts only', () => {
    const crossed = simulatedStudy(5, SIZE, { part: 1, operator: 0, interaction: 0.5, repeat: 0.1 })
    expect(notes(crossed)).toMatch(/Operators differ on some parts and not on others \(p below 0\.001\)/)
  })

  it('a small study that could be a class worse says so; a larger one that could not does not', () => {
    const half = (50 * spread) / 9.5
    expect(notes(rows, { min: -half, max: half })).toMatch(/leaves room for doubt: the share could be as much as/)
    expect(notes(rows, { min: -50 * half, max: 50 * half })).not.toMatch(/room for doubt/)
  })

  it('parts that are alike', () => {
    const alike = simulatedStudy(3, SIZE, { part: 0, operator: 0.1, interaction: 0, repeat: 1 })
    expect(notes(alike)).toMatch(/cannot tell these 10 parts apart/)
  })

  it('values written too coarsely', () => {
    const fine = simulatedStudy(5, SIZE, { part: 1, operator: 0, interaction: 0, repeat: 0.1 })
    expect(notes(fine.map(row => ({ ...row, value: Math.round(2 * row.value) / 2 })))).toMatch(
      /go in steps of 0\.5, coarser than the scatter of repeats/,
    )
    expect(notes(fine.map(row => ({ ...row, value: Math.round(100 * row.value) / 100 })))).not.toMatch(/in steps of/)
  })
})

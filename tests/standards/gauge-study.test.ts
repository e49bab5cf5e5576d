import { describe, expect, it } from 'vitest'
import type { StudyValue } from '../../src/model/gauge-study.js'
import { analysisOfVariance, oneWayAnalysis } from '../../src/trend/analysis-of-variance.js'
import { gaugeStudy } from '../../src/trend/gauge-study.js'
import { expectWithin } from '../support/expect-within.js'

/** Letter: appraiser; digit: trial; columns: parts 1 to 10. AIAG Measurement Systems Analysis, 4th edition, figure III-B 6. */
const HANDBOOK: Readonly<Record<string, readonly number[]>> = {
  A1: [0.29, -0.56, 1.34, 0.47, -0.8, 0.02, 0.59, -0.31, 2.26, -1.36],
  A2: [0.41, -0.68, 1.17, 0.5, -0.92, -0.11, 0.75, -0.2, 1.99, -1.25],
  A3: [0.64, -0.58, 1.27, 0.64, -0.84, -0.21, 0.66, -0.17, 2.01, -1.31],
  B1: [0.08, -0.47, 1.19, 0.01, -0.56, -0.2, 0.47, -0.63, 1.8, -1.68],
  B2: [0.25, -1.22, 0.94, 1.03, -1.2, 0.22, 0.55, 0.08, 2.12, -1.62],
  B3: [0.07, -0.68, 1.34, 0.2, -1.28, 0.06, 0.83, -0.34, 2.19, -1.5],
  C1: [0.04, -1.38, 0.88, 0.14, -1.46, -0.29, 0.02, -0.46, 1.77, -1.49],
  C2: [-0.11, -1.13, 1.09, 0.2, -1.07, -0.67, 0.01, -0.56, 1.45, -1.77],
  C3: [-0.15, -0.96, 0.67, 0.11, -1.45, -0.49, 0.21, -0.49, 1.87, -2.16],
}
const handbook: StudyValue[] = Object.entries(HANDBOOK).flatMap(([name, values]) =>
  values.map((value, i) => ({ part: `${i + 1}`, operator: name[0]!, repeat: Number(name[1]), value })),
)

describe('average-and-range study of 10 parts, 3 appraisers, 3 trials (AIAG MSA 4th edition, figures III-B 6 and 15)', () => {
  const study = gaugeStudy(handbook)
  const form = study.averageAndRange!
  it.each([
    ['average range', form.averageRange, 0.3417],
    ['difference of appraisers', form.operatorDifference!, 0.4446],
    ['range of parts', form.partRange, 3.511],
    ['equipment variation', form.equipmentVariation, 0.20188],
    ['appraiser variation', form.appraiserVariation!, 0.22963],
    ['gauge', form.gauge, 0.30575],
    ['part variation', form.partVariation, 1.10456],
    ['total variation', form.totalVariation, 1.1461],
  ])('%s', (_name, value, wanted) => {
    expectWithin(value, wanted, { abs: 2e-4, unit: '', because: 'published values are rounded on the way' })
  })

  it.each([
    ['equipment', form.percent.equipment, 17.62],
    ['appraiser', form.percent.appraiser!, 20.04],
    ['gauge', form.percent.gauge, 26.68],
    ['part', form.percent.part, 96.38],
  ])('%s, percent of the total', (_name, value, wanted) => {
    expectWithin(value, wanted, { abs: 0.01, unit: '%', because: 'published to two decimals, rounded on the way' })
  })

  it('average ranges of the appraisers', () => {
    for (const [operator, wanted] of [
      ['A', 0.184],
      ['B', 0.513],
      ['C', 0.328],
    ] as const) {
      const ranges = study.cells.filter(cell => cell.operator === operator).map(cell => cell.range)
      expectWithin(ranges.reduce((a, b) => a + b, 0) / ranges.length, wanted, {
        abs: 5.1e-4,
        unit: '',
        because: 'published to three decimals',
      })
    }
  })

  it('5 distinct categories; the limit of ranges flags part 4 of B alone', () => {
    expect(form.distinctCategories).toBe(5)
    expectWithin(study.rangeLimit, 0.88, { abs: 5e-4, unit: '', because: 'published to three decimals' })
    const flagged = study.cells.filter(cell => cell.flagged)
    expect(flagged.map(cell => [cell.operator, cell.part])).toEqual([['B', '4']])
    expectWithin(flagged[0]!.range, 1.02, { abs: 1e-12, unit: '', because: 'largest less smallest' })
  })
})

describe('the same data by analysis of variance, interaction pooled (worked example of a general statistics package)', () => {
  const study = gaugeStudy(handbook)
  const { analysis, components } = study

  it.each([
    ['operator', analysis.operator!.sumOfSquares, 3.16726],
    ['part', analysis.part.sumOfSquares, 88.36193],
    ['interaction', analysis.interaction!.sumOfSquares, 0.35898],
    ['within', analysis.within.sumOfSquares, 2.75893],
    ['variance of repeatability', components.repeatability.variance, 0.03997],
    ['variance of operators', components.operator!.variance, 0.05146],
    ['variance of the gauge', components.gauge.variance, 0.09143],
    ['variance of parts', components.part.variance, 1.08645],
    ['total variance', components.total.variance, 1.17788],
  ])('%s', (_name, value, wanted) => {
    expectWithin(value, wanted, { abs: 1e-5, unit: '', because: 'published to five decimals' })
  })

  it.each([
    ['gauge, contribution', components.gauge.contributionPercent, 7.76],
    ['parts, contribution', components.part.contributionPercent, 92.24],
    ['repeatability', components.repeatability.studyVariationPercent, 18.42],
    ['reproducibility', components.reproducibility!.studyVariationPercent, 20.9],
    ['gauge', components.gauge.studyVariationPercent, 27.86],
    ['parts', components.part.studyVariationPercent, 96.04],
  ])('%s, percent', (_name, value, wanted) => {
    expectWithin(value, wanted, { abs: 0.00501, unit: '%', because: 'published to two decimals' })
  })

  it('pools an interaction of F .434, p .974, and finds 4 distinct categories', () => {
    expect(study.pooled).toBe(true)
    // As printed: three decimals.
    expect(analysis.interaction!.f!.toFixed(3)).toBe('0.434')
    expect(analysis.interaction!.p!.toFixed(3)).toBe('0.974')
    expect(analysis.repeatability.degreesOfFreedom).toBe(78)
    expect(study.distinctCategories).toBe(4)
  })
})

describe('2 parts, 5 operators, 3 trials (Vardeman & VanValkenburg, Technometrics 41, 202, 1999; answers computed)', () => {
  const trials = [
    [3.481, 3.448, 3.485, 3.475, 3.472, 3.258, 3.254, 3.256, 3.249, 3.241],
    [3.477, 3.472, 3.464, 3.472, 3.47, 3.254, 3.247, 3.257, 3.238, 3.25],
    [3.47, 3.47, 3.477, 3.473, 3.474, 3.258, 3.239, 3.245, 3.24, 3.254],
  ]
  const values = trials.flatMap((trial, k) =>
    trial.map((value, i) => ({
      part: `${1 + Math.floor(i / 5)}`,
      operator: `${1 + (i % 5)}`,
      repeat: k + 1,
      value,
    })),
  )
  const study = gaugeStudy(values, { pooled: 'never' })

  it.each([
    ['operator', study.analysis.operator!.meanSquare, 1.254167e-4, 1e-9],
    ['part', study.analysis.part.meanSquare, 0.3718533, 5e-8],
    ['interaction', study.analysis.interaction!.meanSquare, 4.408333e-5, 1e-9],
    ['error', study.analysis.within.meanSquare, 5.116667e-5, 1e-9],
  ])('mean square: %s', (_name, value, wanted, abs) => {
    expectWithin(value, wanted, { abs, unit: '', because: 'half a last digit of the part, 1e-9 for the rest' })
  })

  it('an interaction below the error has variance 0, and says that it was set so', () => {
    expect(study.components.interaction).toMatchObject({ variance: 0, clamped: true })
    expect(study.components.repeatability.variance).toBe(study.analysis.within.meanSquare)
    expect(study.pooled).toBe(false)
  })
})

describe('one-way analysis of variance', () => {
  it('SiRstv (NIST StRD, resistivity of silicon; data and answer from memory, agreeing to 12 digits)', () => {
    const { between, within } = oneWayAnalysis([
      [196.3052, 196.124, 196.189, 196.2569, 196.3403],
      [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
      [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
      [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
      [196.2119, 196.1051, 196.185, 196.0052, 196.209],
    ])
    expect([between.degreesOfFreedom, within.degreesOfFreedom]).toEqual([4, 20])
    expectWithin(between.f!, 1.18046237440255, { abs: 1e-9, unit: '', because: 'certified to 15 digits' })
  })

  it('three levels (NIST/SEMATECH e-Handbook, prc433; answer computed)', () => {
    const { between, within } = oneWayAnalysis([
      [6.9, 5.4, 5.8, 4.6, 4.0],
      [8.3, 6.8, 7.8, 9.2, 6.5],
      [8.0, 10.5, 8.1, 6.9, 9.3],
    ])
    const asPrinted = { abs: 1e-4, unit: '', because: 'answers have four or five decimals' }
    expectWithin(between.sumOfSquares, 27.8973, asPrinted)
    expectWithin(within.sumOfSquares, 17.452, asPrinted)
    expectWithin(between.f!, 9.5911, asPrinted)
    expectWithin(between.p!, 0.00325, { abs: 5e-6, unit: '', because: 'half a last digit' })
  })

  it('keeps its digits under a large constant (pattern of NIST StRD NumAcc4 and SmLs07: 0.1 apart on 10 000 000)', () => {
    const levels = [0, 1, 2].map(level =>
      Array.from({ length: 21 }, (_, i) => 1e7 + 0.5 * level + (i === 0 ? 0.25 : i % 2 === 1 ? 0.125 : 0.375)),
    )
    const small = oneWayAnalysis(levels.map(level => level.map(value => value - 1e7)))
    const large = oneWayAnalysis(levels)
    expectWithin(large.between.f!, small.between.f!, {
      abs: 1e-8 * small.between.f!,
      unit: '',
      because: 'values are exact in binary; only the means round',
    })
  })
})

it('a crossed table of whole numbers, by hand', () => {
  // Cell means 1 3 / 2 8: effects of rows 2 5, of columns 1.5 5.5, grand 3.5; each cell +-1.
  const table = analysisOfVariance([
    [
      [0, 2],
      [2, 4],
    ],
    [
      [1, 3],
      [7, 9],
    ],
  ])
  const sums = [table.first, table.second, table.interaction, table.within].map(line => line.sumOfSquares)
  for (const [i, wanted] of [18, 32, 8, 8].entries())
    expectWithin(sums[i]!, wanted, { abs: 1e-12, unit: '', because: 'small whole numbers' })
  expect(table.total).toEqual({ sumOfSquares: 66, degreesOfFreedom: 7 })
})

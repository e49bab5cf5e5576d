import { describe, expect, it } from 'vitest'
import { analysisOfVariance, line, meanOf, oneWayAnalysis } from '../../../src/trend/analysis-of-variance.js'
import { expectWithin } from '../../support/expect-within.js'

const exact = { abs: 1e-12, unit: '', because: 'small numbers, worked by hand' }

describe('crossed', () => {
  const table = [
    [
      [0, 2],
      [2, 4],
      [1, 3],
    ],
    [
      [1, 3],
      [7, 9],
      [1, 3],
    ],
  ]
  it('the sums add up to the total, and so do the degrees of freedom', () => {
    const { first, second, interaction, within, total } = analysisOfVariance(table)
    const lines = [first, second, interaction, within]
    expectWithin(
      lines.reduce((sum, l) => sum + l.sumOfSquares, 0),
      total.sumOfSquares,
      exact,
    )
    expect(lines.map(l => l.degreesOfFreedom)).toEqual([1, 2, 2, 6])
    expect(total.degreesOfFreedom).toBe(11)
  })

  it('tests the factors against the interaction and the interaction against the scatter within', () => {
    const { first, interaction, within } = analysisOfVariance(table)
    expectWithin(first.f!, first.meanSquare / interaction.meanSquare, exact)
    expectWithin(interaction.f!, interaction.meanSquare / within.meanSquare, exact)
    expect(within).toMatchObject({ f: null, p: null })
  })

  it('refuses what is not crossed and balanced', () => {
    expect(() =>
      analysisOfVariance([
        [
          [1, 2],
          [3, 4],
        ],
      ]),
    ).toThrow(/first factor must be 2 or more; got 1/)
    expect(() => analysisOfVariance([[[1, 2]], [[3, 4]]])).toThrow(/second factor must be 2 or more; got 1/)
    expect(() =>
      analysisOfVariance([
        [[1], [2]],
        [[3], [4]],
      ]),
    ).toThrow(/repeats must be 2 or more; got 1/)
    expect(() =>
      analysisOfVariance([
        [
          [1, 2],
          [3, 4],
        ],
        [[5, 6]],
      ]),
    ).toThrow(/crossed with 2 levels; got 1/)
    expect(() =>
      analysisOfVariance([
        [
          [1, 2],
          [3, 4],
        ],
        [[5, 6], [7]],
      ]),
    ).toThrow(/2 repeats; got 1/)
    expect(() =>
      analysisOfVariance([
        [
          [1, 2],
          [3, 4],
        ],
        [
          [5, 6],
          [7, Number.NaN],
        ],
      ]),
    ).toThrow(/finite number; got NaN/)
  })
})

describe('one-way', () => {
  it('takes levels of different counts', () => {
    const { between, within } = oneWayAnalysis([[1, 3], [6], [4, 5, 9]])
    expectWithin(between.sumOfSquares, 2 * (2 - 28 / 6) ** 2 + (6 - 28 / 6) ** 2 + 3 * (6 - 28 / 6) ** 2, exact)
    expectWithin(within.sumOfSquares, 2 + 0 + 14, exact)
    expect([between.degreesOfFreedom, within.degreesOfFreedom]).toEqual([2, 3])
  })

  it('refuses too little', () => {
    expect(() => oneWayAnalysis([[1, 2]])).toThrow(/levels must be 2 or more; got 1/)
    expect(() => oneWayAnalysis([[1], []])).toThrow(/an empty one/)
    expect(() => oneWayAnalysis([[1], [2]])).toThrow(/must outnumber the 2 levels; got 2/)
    expect(() => oneWayAnalysis([[1, 2], [Number.POSITIVE_INFINITY]])).toThrow(/finite number; got Infinity/)
    expect(oneWayAnalysis([[1, 2], [3]]).total.degreesOfFreedom).toBe(2)
  })
})

it('a line against one without scatter is untested, not NaN or infinite', () => {
  expect(line(3, 2, line(0, 4, null))).toMatchObject({ meanSquare: 1.5, f: null, p: null })
})

it('equal values have exactly their value for a mean', () => {
  for (const value of [0.1, 3.4200000000000004, 1e7 + 0.3, -7e-5]) expect(meanOf([value, value, value])).toBe(value)
})

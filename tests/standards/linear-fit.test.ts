import { describe, it } from 'vitest'
import { fitLine } from '../../src/imaging/fit-line.js'
import { expectWithin } from '../support/expect-within.js'

/** NIST Statistical Reference Datasets, linear regression: certified values of Norris and NoInt1. */
const NORRIS_X = [
  0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5, 11.6,
  556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
]
const NORRIS_Y = [
  0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8,
  557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
]

function expectRelative(value: number, certified: number, share: number): void {
  expectWithin(value, certified, {
    abs: share * Math.abs(certified),
    unit: '',
    because: `relative ${share}, certified value`,
  })
}

describe('straight-line fit', () => {
  it('Norris', () => {
    const line = fitLine(NORRIS_X, NORRIS_Y)
    expectRelative(line.slope, 1.00211681802045, 1e-9)
    expectRelative(line.slopeError, 0.000429796848199937, 1e-9)
    expectRelative(line.intercept, -0.262323073774029, 1e-9)
    expectRelative(line.interceptError, 0.232818234301152, 1e-9)
    expectRelative(line.r2, 0.999993745883712, 1e-9)
    expectRelative(line.residualDeviation, 0.884796396144373, 1e-9)
  })

  it('NoInt1, through the origin', () => {
    const x = Array.from({ length: 11 }, (_, i) => 60 + i)
    const y = x.map(value => value + 70)
    const line = fitLine(x, y, true)
    expectRelative(line.slope, 2.07438016528926, 1e-10)
    expectRelative(line.slopeError, 0.0165289256198347, 1e-10)
    expectRelative(line.residualDeviation, 3.56753034006338, 1e-10)
    expectRelative(line.r2, 0.999365492298663, 1e-10)
  })
})

import { describe, expect, it } from 'vitest'
import { lagOne } from '../../../src/trend/lag-one.js'

/** NIST StRD univariate set Mavro; certified lag-1 autocorrelation 0.937989183438248. */
const MAVRO = [
  2.0018, 2.0017, 2.0018, 2.0019, 2.0018, 2.0017, 2.0015, 2.0014, 2.0015, 2.0015, 2.0017, 2.0018, 2.0018, 2.0019,
  2.0019, 2.0021, 2.002, 2.0016, 2.0014, 2.0013, 2.0013, 2.0015, 2.0015, 2.0016, 2.0015, 2.0014, 2.0013, 2.0014, 2.0015,
  2.0014, 2.0015, 2.0016, 2.0015, 2.0016, 2.0019, 2.002, 2.002, 2.0021, 2.0022, 2.0023, 2.0024, 2.0025, 2.0027, 2.0026,
  2.0026, 2.0026, 2.0027, 2.0026, 2.0025, 2.0024,
]

describe('lagOne', () => {
  it('is the certified value of NIST’s set', () => {
    expect(Math.abs(lagOne(MAVRO) / 0.937989183438248 - 1)).toBeLessThan(1e-9)
  })

  it('refuses too few, all alike and what is no number', () => {
    expect(() => lagOne([1, 2])).toThrow('values must be 3 or more; got 2')
    expect(lagOne([1, 2, 1])).toBeCloseTo(-2 / 3, 12)
    expect(() => lagOne([2, 2, 2])).toThrow('values must differ; got 3 times 2')
    expect(() => lagOne([2, Number.NaN, 2])).toThrow('value 1 must be finite; got NaN')
  })
})

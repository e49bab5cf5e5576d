import { describe, expect, it } from 'vitest'
import { normalTable, seededRandom } from '../../../src/demo/random.js'
import { expectWithin } from '../../support/expect-within.js'

describe('seededRandom', () => {
  it('repeats itself, and seeds differ', () => {
    const draw = (seed: number) => {
      const random = seededRandom(seed)
      return Array.from({ length: 5 }, () => random.whole())
    }
    expect(draw(1)).toEqual(draw(1))
    expect(draw(1)).not.toEqual(draw(2))
    expect(new Set([0, 1, 2, 3, 4].flatMap(draw)).size).toBe(25)
  })

  it('uniform fills 0..1 evenly and normal has mean 0 and variance 1', () => {
    const random = seededRandom(9)
    const n = 100_000
    const tenths = new Array<number>(10).fill(0)
    let sum = 0
    let squares = 0
    for (let i = 0; i < n; i++) {
      tenths[Math.floor(random.uniform() * 10)]!++
      const z = random.normal()
      sum += z
      squares += z * z
    }
    for (const count of tenths)
      expectWithin(count, n / 10, { abs: 5 * Math.sqrt(n * 0.09), unit: 'draws', because: 'five standard errors' })
    expectWithin(sum / n, 0, { abs: 5 / Math.sqrt(n), unit: '', because: 'five standard errors' })
    expectWithin(squares / n, 1, { abs: 5 * Math.sqrt(2 / n), unit: '', because: 'five standard errors' })
  })

  it('the table of normals is symmetric, rising, of variance 1', () => {
    const table = normalTable()
    for (let i = 1; i < table.length; i++) expect(table[i]! > table[i - 1]!).toBe(true)
    expect(table[0]).toBe(-table[table.length - 1]!)
    expectWithin(table.reduce((a, z) => a + z * z, 0) / table.length, 1, { abs: 1e-12, unit: '', because: 'scaled' })
  })
})

import { describe, expect, it } from 'vitest'
import { conformanceProbability } from '../../src/judge/conformance.js'
import { judgeReading } from '../../src/judge/judge-reading.js'
import type { Verdict } from '../../src/model/inspection.js'
import { expectWithin } from '../support/expect-within.js'

const U = 0.08
const LIMIT = { min: 3.5 }
const guarded = (value: number): Verdict => judgeReading({ value, expanded: U, bound: null }, LIMIT, 'guarded').verdict

/** Value at which something becomes true, found by halving. */
function edgeOf(isTrue: (value: number) => boolean, low: number, high: number): number {
  let below = low
  let above = high
  for (let i = 0; i < 60; i++) {
    const middle = (below + above) / 2
    if (isTrue(middle)) above = middle
    else below = middle
  }
  return above
}

const TABLE = { abs: 1e-4, unit: 'D', because: 'the acceptance limits are given to four decimals' }

describe('acceptance limits for D 3.50 or more, U 0.08 (ISO 14253-1 and ILAC-G8:09/2019 guard bands, computed)', () => {
  it('accepts from 3.58 with a guard band of U', () => {
    expectWithin(
      edgeOf(v => guarded(v) === 'pass', 3, 4),
      3.58,
      TABLE,
    )
  })

  it('rejects below 3.42, and rechecks between', () => {
    expectWithin(
      edgeOf(v => guarded(v) !== 'fail', 3, 4),
      3.42,
      TABLE,
    )
    expect([3.45, 3.5, 3.54].map(guarded)).toEqual(['recheck', 'recheck', 'recheck'])
  })

  it('would accept from 3.5658 at 5 % false accepts', () => {
    expectWithin(
      edgeOf(v => conformanceProbability(v, U / 2, LIMIT) >= 0.95, 3, 4),
      3.5658,
      TABLE,
    )
  })

  it('leaves a false accept of 2.28 % at the acceptance limit itself (ILAC-G8: below 2.5 %)', () => {
    expectWithin(1 - conformanceProbability(3.58, U / 2, LIMIT), 0.0228, {
      abs: 5e-5,
      unit: '',
      because: 'given as 2.28 %',
    })
  })
})

/** Linear congruential generator (Numerical Recipes, quick and dirty, from memory) into normal draws by Box and Muller. */
function normalDraws(seed: number): () => number {
  let state = seed >>> 0
  const uniform = (): number => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0
    return (state + 0.5) / 4_294_967_296
  }
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform())
}

describe('a film truly outside its limit by more than U', () => {
  const draws = 20_000

  it.each([
    ['min', 1],
    ['max', 2],
    ['min', 3],
  ] as const)('passes in fewer than 1 in 1000 measurements (%s, seed %d)', (end, seed) => {
    const normal = normalDraws(seed)
    const sign = end === 'min' ? -1 : 1
    const counts = { pass: 0, recheck: 0, fail: 0 }
    for (let i = 0; i < draws; i++) {
      const truth = 3.5 + sign * U * (1 + 1e-9)
      const value = truth + (U / 2) * normal()
      counts[judgeReading({ value, expanded: U, bound: null }, { [end]: 3.5 }, 'guarded').verdict]++
    }
    // A pass needs a measurement four standard uncertainties off: 3.2 in 100 000.
    expect(counts.pass).toBeLessThan(draws / 1000)
    expect(counts.pass + counts.recheck + counts.fail).toBe(draws)
    // The draws are what they claim: half of them fall on the far side of a truth that lies U outside.
    expectWithin(counts.fail / draws, 0.5, { abs: 0.0142, unit: '', because: 'four standard errors of 20 000 draws' })
  })
})

import { describe, expect, it } from 'vitest'
import { recommend } from '../../src/ladder/recommend.js'
import { compareCost, settingCost } from '../../src/ladder/setting-cost.js'
import type { Combination } from '../../src/model/ladder.js'
import type { LimitName } from '../../src/model/reading.js'
import { judgeLadder } from '../../src/pipeline/judge-ladder.js'
import { type SyntheticLadder, syntheticLadder } from '../support/synthetic-ladder.js'

/** Seeds of the ladders; none was chosen for what it gives. */
const LADDERS = Array.from({ length: 100 }, (_, i) => i + 1)

/** The least room of the true values inside the limits, in the U that was stated of each; below 0: it truly fails. */
function trueRoom(ladder: SyntheticLadder, at: Combination, stated: (name: LimitName) => number): number {
  const { values } = ladder.truth.find(t => t.stock === at.stock && t.mode === at.mode && t.level === at.level)!
  return Math.min(
    ...(Object.entries(ladder.jobType.limits) as [LimitName, { min?: number; max?: number }][]).map(
      ([name, { min, max }]) =>
        Math.min(
          min === undefined ? Infinity : (values[name]! - min) / stated(name),
          max === undefined ? Infinity : (max - values[name]!) / stated(name),
        ),
    ),
  )
}

function worked(seed: number, repeats: number) {
  const ladder = syntheticLadder(seed, repeats)
  const { plan, jobType } = ladder
  const result = recommend(plan, judgeLadder(ladder.samples, jobType), jobType.limits)
  const room = (at: Combination) => {
    const step = result.steps.find(s => s.stock === at.stock && s.mode === at.mode && s.level === at.level)!
    return trueRoom(ladder, at, name => step.readings[name]!.expanded)
  }
  const byCost = (a: Combination, b: Combination) => compareCost(plan, settingCost(plan, a), settingCost(plan, b))
  const passing = ladder.truth.filter(t => room(t) >= 0).sort(byCost)
  const { recommended } = result
  const skipped = passing.filter(t => recommended === null || byCost(t, recommended) < 0)
  return { ladder, result, room, passing, recommended, skipped }
}

describe.each([
  ['one print each', 1],
  ['three prints each', 3],
])('on 100 random ladders, %s', (_, repeats) => {
  const all = LADDERS.map(seed => worked(seed, repeats))

  it('never recommends a setting that truly fails by more than U', () => {
    const failing = all.filter(one => one.recommended !== null && one.room(one.recommended) < -1)
    expect(failing).toEqual([])
    // Nor, but for a guard band's one in many hundreds, one that fails at all.
    expect(all.filter(one => one.recommended !== null && one.room(one.recommended) < 0).length).toBeLessThanOrEqual(2)
  })

  it('recommends the true cheapest passing setting, or skips only settings too close to a limit to be called', () => {
    const exact = all.filter(one => one.skipped.length === 0).length
    // A setting is skipped when its reading lies within U of the limit or beyond: its true value then lies within U (guard) + U (error).
    const skippedRooms = all.flatMap(one => one.skipped.map(one.room))
    console.table({
      ladders: all.length,
      'something truly passes': all.filter(one => one.passing.length > 0).length,
      'true cheapest recommended': exact,
      'settings skipped, each too close to call': skippedRooms.length,
      'largest true room of a skipped one, U': Math.max(0, ...skippedRooms).toFixed(2),
      'least true room of a recommended one, U': Math.min(
        ...all.flatMap(one => (one.recommended === null ? [] : [one.room(one.recommended)])),
      ).toFixed(2),
    })
    expect(Math.max(0, ...skippedRooms)).toBeLessThanOrEqual(2)
    expect(exact).toBeGreaterThan(50)
  })

  it('names one reason for each cheaper setting, and only settings that were printed', () => {
    for (const { result, ladder } of all) {
      for (const answer of [result, ...Object.values(result.perStock)]) {
        for (const choice of [answer.recommended, answer.safer])
          if (choice !== null) expect(ladder.plan.levels).toContain(choice.level)
        expect(answer.cheaper.every(c => c.why !== '')).toBe(true)
        expect(answer.recommended === null).toBe(answer.closest !== null)
      }
    }
  })

  it('finds the knee where ink stops darkening, within its interval 90 times in 100', () => {
    const found = all.flatMap(({ result, ladder }) =>
      result.lines.flatMap(({ stock, mode, knee }) =>
        knee.kind === 'found' ? [{ knee, truth: ladder.knees.get(`${stock}__${mode}`)! }] : [],
      ),
    )
    const held = found.filter(
      ({ knee, truth }) => truth >= knee.lower && (knee.upper === null || truth <= knee.upper),
    ).length
    const off = found.map(({ knee, truth }) => Math.abs(knee.level / truth - 1)).sort((a, b) => a - b)
    console.table({
      knees: found.length,
      'within the 95 % interval, %': ((100 * held) / found.length).toFixed(1),
      'median error, %': (100 * off[Math.floor(off.length / 2)]!).toFixed(1),
      'largest error, %': (100 * off.at(-1)!).toFixed(1),
    })
    expect(found.length).toBeGreaterThan(50)
    expect(held / found.length).toBeGreaterThan(0.9)
  })
})

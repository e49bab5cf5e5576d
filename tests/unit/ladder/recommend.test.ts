import { describe, expect, it } from 'vitest'
import { recommend } from '../../../src/ladder/recommend.js'
import { ladderPlan } from '../../support/ladder-plan.js'
import { ladderStep } from '../../support/ladder-steps.js'
import { LADDER_JOB, readingOf } from '../../support/synthetic-ladder.js'

const limits = { solidDensity: { min: 3 }, riseWidth: { max: 60 } }
const job = { ...LADDER_JOB, limits }
/** Fast mode blackens slowly and softens; fine mode does better at the price of time; stock-b does a little worse. */
const steps = (worse = 0) =>
  ladderPlan().stocks.flatMap((stock, s) =>
    ladderPlan().modes.flatMap(({ name: mode }, m) =>
      ladderPlan().levels.map(level =>
        ladderStep(
          { stock, mode, level },
          {
            solidDensity: readingOf('solidDensity', 2 + 0.12 * level + 0.3 * m - 0.2 * s - worse, 0.05),
            riseWidth: readingOf('riseWidth', 36 + 2 * level - 4 * m, 2),
          },
          job,
        ),
      ),
    ),
  )

describe('recommend', () => {
  const result = recommend(ladderPlan(), steps(), limits)

  it('takes the cheapest that passes with its U, and the next with a standard uncertainty more room', () => {
    expect(result.recommended).toMatchObject({
      stock: 'stock-a',
      mode: 'fast',
      level: 10,
      minutes: 1.5,
      tightest: 'riseWidth',
    })
    expect(result.recommended!.ink).toBeCloseTo(0.8, 12)
    expect(result.recommended!.margin).toBeCloseTo(2, 9)
    expect(result.safer).toMatchObject({ stock: 'stock-a', mode: 'fine', level: 8 })
  })

  it('names one reason for each cheaper one, cheapest first', () => {
    expect(result.cheaper.map(c => [c.stock, c.level])).toEqual([
      ['stock-a', 4],
      ['stock-b', 4],
      ['stock-a', 6],
      ['stock-b', 6],
      ['stock-a', 8],
      ['stock-b', 8],
    ])
    expect(result.cheaper[4]!.why).toContain('Solid density is 2.96 ± 0.05 D')
    expect(new Set(result.cheaper.map(c => c.reading))).toEqual(new Set(['solidDensity']))
  })

  it('says what it saves against the dearest passing one over a hundred films', () => {
    expect(result.saves!.against).toMatchObject({ mode: 'fine', level: 12 })
    expect(result.saves!.minutes).toBeCloseTo(250, 9)
    expect(result.saves!.ink).toBeCloseTo(16, 9)
  })

  it('answers for each stock, names the best, and lists what was not read', () => {
    expect(result.bestStock).toBe('stock-a')
    expect(result.perStock['stock-b']!.recommended).toMatchObject({ mode: 'fine', level: 8 })
    const some = recommend(ladderPlan(), steps().slice(2), limits)
    expect(some.missing).toEqual([
      { stock: 'stock-a', mode: 'fast', level: 4 },
      { stock: 'stock-a', mode: 'fast', level: 6 },
    ])
  })

  it('goes by the weights of the plan', () => {
    const ink = recommend(ladderPlan({ weigh: { minutes: 0, ink: 1 } }), steps(), limits)
    expect(ink.recommended).toMatchObject({ stock: 'stock-a', mode: 'fine', level: 8 })
  })

  it('recommends nothing where nothing passes, and says what comes closest', () => {
    const none = recommend(ladderPlan(), steps(1.5), limits)
    expect(none).toMatchObject({ recommended: null, safer: null, saves: null, bestStock: null, lookNext: null })
    expect(none.closest).toMatchObject({ stock: 'stock-a', mode: 'fine', level: 12, lever: 'moreInk' })
    expect(recommend(ladderPlan(), [], limits)).toMatchObject({ recommended: null, closest: null })
  })
})

describe('facts of the trade (common practice, no source)', () => {
  it('near D 4.0 is the aim and below 3.0 burns through: each 0.30 D halves the light', () => {
    const leaked = (density: number) => 10 ** -density
    expect(leaked(3.3) / leaked(3)).toBeCloseTo(0.5, 2)
    const passes = (density: number) =>
      ladderStep(
        { stock: 's', mode: 'fast', level: 4 },
        { solidDensity: readingOf('solidDensity', density, 0.05) },
        { ...job, limits: { solidDensity: { min: 3 } } },
      ).verdict
    expect([4, 3.2, 2.8].map(passes)).toEqual(['pass', 'pass', 'fail'])
  })
})

import { describe, expect, it } from 'vitest'
import { closestSetting } from '../../../src/ladder/closest-setting.js'
import type { LadderKnee } from '../../../src/model/ladder.js'
import type { Reading } from '../../../src/model/reading.js'
import { ladderPlan } from '../../support/ladder-plan.js'
import { ladderStep } from '../../support/ladder-steps.js'
import { LADDER_JOB, readingOf } from '../../support/synthetic-ladder.js'

const limits = {
  solidDensity: { min: 3 },
  riseWidth: { max: 60 },
  baseDensity: { max: 0.15 },
  bandingAmplitude: { max: 2 },
}
const job = { ...LADDER_JOB, limits }
const plan = ladderPlan()
const untold = { kind: 'untold', why: '' } as const
const step = (
  level: number,
  { density = 3.5, rise = 40, base = 0.06, banding = 1, mode = 'fast', bound = null as Reading['bound'] },
) =>
  ladderStep(
    { stock: 'stock-a', mode, level },
    {
      solidDensity: readingOf('solidDensity', density, 0.04, { bound }),
      riseWidth: readingOf('riseWidth', rise, 2),
      baseDensity: readingOf('baseDensity', base, 0.01),
      bandingAmplitude: readingOf('bandingAmplitude', banding, 0.2),
    },
    job,
  )
const lever = (steps: ReturnType<typeof step>[], knee: LadderKnee = untold) =>
  closestSetting(plan, steps, limits, () => knee)

describe('closestSetting', () => {
  it('takes the one that is least far outside in units of U', () => {
    expect(lever([step(4, { density: 2 }), step(6, { density: 2.8 }), step(8, { rise: 80 })]).level).toBe(6)
  })
  it('asks for more ink while density rises at the highest level', () => {
    expect(lever([step(12, { density: 2.8 })])).toMatchObject({ reading: 'solidDensity', lever: 'moreInk' })
  })
  it('asks for another film once ink no longer darkens', () => {
    const knee: LadderKnee = {
      kind: 'found',
      level: 9,
      lower: 8,
      upper: 10,
      ceiling: { value: 2.85, expanded: 0.05 },
      grows: null,
      curve: { base: 0, gain: 2.8, scale: 3 },
    }
    expect(lever([step(12, { density: 2.8 })], knee)).toMatchObject({
      lever: 'otherFilm',
      advice: expect.stringContaining('2.85 ± 0.05 D'),
    })
  })
  it('asks for a slower mode where more ink would cure one thing and spoil another, for another film in the slowest', () => {
    expect(lever([step(10, { density: 2.9 })])).toMatchObject({
      lever: 'slowerMode',
      advice: expect.stringContaining('fine'),
    })
    expect(lever([step(10, { density: 2.9, mode: 'fine' })])).toMatchObject({ lever: 'otherFilm' })
    expect(lever([step(10, { rise: 70 })])).toMatchObject({ lever: 'slowerMode' })
  })
  it('asks for less ink where the lowest level is too much, and for more against banding (common practice, no source)', () => {
    expect(lever([step(4, { rise: 70 })])).toMatchObject({ lever: 'lessInk' })
    expect(lever([step(6, { banding: 4 })])).toMatchObject({ lever: 'moreInk' })
    expect(lever([step(12, { banding: 4 })])).toMatchObject({ lever: 'slowerMode' })
    expect(lever([step(6, { base: 0.3 })])).toMatchObject({ lever: 'otherFilm' })
  })
  it('says what to look at again where a bound or a doubt keeps it from being judged', () => {
    expect(lever([step(12, { density: 2.9, bound: 'atLeast' })])).toMatchObject({ lever: 'look' })
  })
})

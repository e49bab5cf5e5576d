import { expect, it } from 'vitest'
import type { LadderSample } from '../../../src/model/ladder.js'
import { judgeLadder } from '../../../src/pipeline/judge-ladder.js'
import { LADDER_JOB, readingOf } from '../../support/synthetic-ladder.js'

const job = { ...LADDER_JOB, limits: { solidDensity: { min: 3 } } }
const sample = (level: number, density: number, change: Partial<LadderSample> = {}): LadderSample => ({
  stock: 's',
  mode: 'm',
  level,
  file: `s__m__${level}.tif`,
  readings: { solidDensity: readingOf('solidDensity', density, 0.05) },
  notMeasured: [],
  response: 'calibrated',
  doubts: [],
  crop: null,
  ...change,
})

it('judges the mean of the repeats, each combination once', () => {
  const steps = judgeLadder([sample(4, 2.8), sample(6, 3.2), sample(4, 2.82)], job)
  expect(steps.map(s => [s.level, s.verdict, s.samples.length])).toEqual([
    [4, 'fail', 2],
    [6, 'pass', 1],
  ])
  expect(steps[0]!.spread.solidDensity).toBeCloseTo(0.01414, 4)
})

it('is a recheck where the mean passes and one print fails by itself', () => {
  const one = (density: number) => ({ readings: { solidDensity: readingOf('solidDensity', density, 0.005) } })
  const steps = judgeLadder(
    [3.1, 3.1, 3.1, 3.1, 3.1, 3.1, 3.1, 3.1, 3.1, 2.99].map(d => sample(4, d, one(d))),
    job,
  )
  expect(steps[0]).toMatchObject({ verdict: 'recheck', why: expect.stringContaining('1 of 10 prints fails by itself') })
})

it('passes nothing without a calibration, or under a doubt', () => {
  expect(judgeLadder([sample(4, 3.5, { response: 'unknown' })], job)[0]!.verdict).toBe('recheck')
  const doubt = { code: 'drift' as const, why: 'The lamp drifted.', next: '' }
  expect(judgeLadder([sample(4, 3.5), sample(4, 3.5, { doubts: [doubt] })], job)[0]).toMatchObject({
    verdict: 'recheck',
    why: 'The lamp drifted.',
  })
})

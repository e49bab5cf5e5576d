import { expect, it } from 'vitest'
import { stockAges } from '../../../src/ladder/stock-ages.js'
import type { LadderSample } from '../../../src/model/ladder.js'
import { judgeLadder } from '../../../src/pipeline/judge-ladder.js'
import { LADDER_JOB, readingOf } from '../../support/synthetic-ladder.js'

const job = { ...LADDER_JOB, limits: { solidDensity: { min: 3 } } }
const sample = (level: number, density: number, change: Partial<LadderSample> = {}): LadderSample => ({
  stock: 's',
  mode: 'm',
  level,
  file: `s__m__${level}.tif`,
  scannedAt: '2026-03-02T09:00:00',
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

const spread = (um: number) => readingOf('inkSpread', um, 0.3)
const aged = (change: Partial<LadderSample['readings']>, days: number): LadderSample =>
  sample(4, 3.5, {
    scannedAt: new Date(Date.parse('2026-03-02T09:00:00Z') + days * 86_400_000).toISOString(),
    readings: {
      solidDensity: readingOf('solidDensity', 3.5, 0.02),
      baseDensity: readingOf('baseDensity', 0.05, 0.01),
      ...change,
    },
  })
const bleeding = { ...job, limits: { solidDensity: { min: 3 }, edgeGrowth: { max: 15 } } }

it('does not ask growth of a first reading, nor of scans within a week', () => {
  expect(judgeLadder([sample(4, 3.5)], bleeding)[0]).toMatchObject({ verdict: 'pass', age: null })
  const [step] = judgeLadder([aged({}, 0), aged({}, 6.9)], bleeding)
  expect(step).toMatchObject({ verdict: 'pass', age: null })
  expect(step!.samples).toHaveLength(2)
})

it('judges the newest reading and what grew since the oldest: the half-light edge of ink that spread', () => {
  // From sigma 20 to 34 um at net 3.45 D the 50 % contour moves by 1.3579 sigma (normal quantile of 1 - 0.30103 / 3.45, Python 3.11 statistics.NormalDist).
  const [step] = judgeLadder([aged({ inkSpread: spread(34) }, 28), aged({ inkSpread: spread(20) }, 0)], bleeding)
  expect(step!.readings.edgeGrowth!.value).toBeCloseTo(14 * 1.3579, 2)
  // Solids of U 0.02 D say where the contour lies: its change by D is 0.30103 / 3.45^2 over the normal density there, 0.1587 (same source).
  const byDensity = (Math.hypot(34, 20) * 0.02 * 0.301_03) / 3.45 ** 2 / 0.1587
  expect(step!.readings.edgeGrowth!.expanded).toBeCloseTo(Math.hypot(1.3579 * 0.3 * Math.SQRT2, byDensity), 3)
  expect(step).toMatchObject({ verdict: 'fail', age: { days: 28 } })
  expect(step!.samples).toHaveLength(1)
  expect(stockAges([step!], bleeding.limits)).toMatchObject([
    { stock: 's', days: 28, settings: 1, beyond: 1, limit: 15, verdict: 'bleeds' },
  ])
})

it('takes the earlier reading from a record, too', () => {
  const record = {
    stock: 's',
    mode: 'm',
    level: 4,
    scannedAt: '2026-02-01T09:00:00Z',
    readings: aged({ inkSpread: spread(19) }, 0).readings,
  }
  const [step] = judgeLadder([aged({ inkSpread: spread(20) }, 0)], bleeding, [record])
  expect(step).toMatchObject({ verdict: 'pass', age: { days: 29 }, readings: { densityLoss: { value: 0 } } })
  expect(stockAges([step!], bleeding.limits)).toMatchObject([{ verdict: 'holds' }])
  expect(stockAges([step!], job.limits)).toMatchObject([{ verdict: 'notAsked', limit: null }])
})

it('is a recheck where the spread of one of the readings is not known', () => {
  const [step] = judgeLadder([aged({}, 0), aged({ inkSpread: spread(20) }, 20)], bleeding)
  expect(step).toMatchObject({ verdict: 'recheck', why: expect.stringContaining('ink spread') })
  expect(stockAges([step!], bleeding.limits)).toMatchObject([{ verdict: 'unsure' }])
})

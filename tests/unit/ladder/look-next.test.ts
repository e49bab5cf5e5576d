import { expect, it } from 'vitest'
import { lookNext } from '../../../src/ladder/look-next.js'
import { ladderStep } from '../../support/ladder-steps.js'
import { LADDER_JOB, readingOf } from '../../support/synthetic-ladder.js'

const job = { ...LADDER_JOB, limits: { solidDensity: { min: 3 } } }
const step = (level: number, density: number) =>
  ladderStep({ stock: 's', mode: 'm', level }, { solidDensity: readingOf('solidDensity', density, 0.04) }, job)

it('points between a level that does not pass and one that does, by a straight line with U', () => {
  const next = lookNext([step(4, 2.44), step(8, 3.24)], 8, job.limits)
  // 2.40 and 3.20 with U taken off: 3.00 lies at three quarters of the way.
  expect(next).toMatchObject({ stock: 's', mode: 'm', level: 7 })
  expect(next!.why).toContain('never printed')
})

it('keeps to whole levels where all were whole, and to tenths of the gap elsewhere', () => {
  expect(lookNext([step(4, 2.44), step(5, 3.24)], 5, job.limits)).toBeNull()
  expect(lookNext([step(4.5, 2.44), step(5.5, 3.24)], 5.5, job.limits)!.level).toBeCloseTo(5.3, 9)
})

it('is silent where the level below passes, is not there, or nothing is gained', () => {
  expect(lookNext([step(4, 3.2), step(8, 3.4)], 8, job.limits)).toBeNull()
  expect(lookNext([step(8, 3.4)], 8, job.limits)).toBeNull()
  expect(lookNext([step(4, 2.5), step(8, 3.041)], 8, job.limits)).toBeNull()
})

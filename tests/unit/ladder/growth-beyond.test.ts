import { expect, it } from 'vitest'
import { growthBeyond } from '../../../src/ladder/growth-beyond.js'
import { ladderStep } from '../../support/ladder-steps.js'
import { LADDER_JOB, readingOf } from '../../support/synthetic-ladder.js'

const line = (gain: (level: number) => number) =>
  [2, 4, 6, 8, 10].map(level =>
    ladderStep(
      { stock: 's', mode: 'm', level },
      { lineGain: readingOf('lineGain', gain(level), 1), riseWidth: readingOf('riseWidth', 30 + 2 * level, 1) },
      LADDER_JOB,
    ),
  )

it('tells what grows beyond the knee, and by how much a level', () => {
  const grows = growthBeyond(
    line(level => 10 + 3 * Math.max(0, level - 6)),
    7,
  )!
  expect(grows.reading).toBe('lineGain')
  expect(grows.perLevel).toBeCloseTo(3, 9)
  expect(
    growthBeyond(
      line(() => 10),
      7,
    )!.reading,
  ).toBe('riseWidth')
})

it('is silent with fewer than three levels, and where growth is within its U', () => {
  expect(
    growthBeyond(
      line(level => 10 * level),
      9,
    ),
  ).toBeNull()
  const flat = line(() => 10).map(step => ({ ...step, readings: { lineGain: step.readings.lineGain! } }))
  expect(growthBeyond(flat, 3)).toBeNull()
})

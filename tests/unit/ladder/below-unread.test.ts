import { expect, it } from 'vitest'
import { belowUnread } from '../../../src/ladder/below-unread.js'
import type { LadderStep } from '../../../src/model/ladder.js'
import { readingOf } from '../../support/synthetic-ladder.js'

const limits = { solidDensity: { min: 3 }, bandingAmplitude: { max: 1.5 } }
const step = (level: number, verdict: LadderStep['verdict'], banding: number | null, mode = 'fast'): LadderStep => ({
  stock: 'stock-a',
  mode,
  level,
  verdict,
  findings:
    banding === null
      ? []
      : [
          {
            reading: 'bandingAmplitude',
            verdict: banding < 1.5 ? 'pass' : 'fail',
            limit: { max: 1.5 },
            why: `Banding is ${banding} %.`,
            next: '',
          },
        ],
  readings: {
    solidDensity: readingOf('solidDensity', 3.5, 0.05),
    ...(banding === null ? {} : { bandingAmplitude: readingOf('bandingAmplitude', banding, 0.05) }),
  },
  why: '',
  samples: [],
  spread: {},
  crop: null,
  age: null,
})
const words = (steps: LadderStep[]) => belowUnread(steps, limits).map(one => one.verdict)

it('lets a level too dark for ripple pass where the next lower one that shows it is inside', () => {
  expect(words([step(4, 'fail', 3), step(6, 'pass', 1), step(8, 'pass', null), step(10, 'pass', null)])).toEqual([
    'fail',
    'pass',
    'pass',
    'pass',
  ])
})

it('is a recheck where that level is outside; another mode says nothing', () => {
  const outside = belowUnread([step(6, 'fail', 3.1), step(8, 'pass', null)], limits)[1]!
  expect(outside).toMatchObject({
    verdict: 'recheck',
    why: 'Banding could not be read on it, and at level 6, the next lower one where it could, it is not sure to be inside: Banding is 3.1 %.',
  })
  expect(outside.findings[0]).toMatchObject({ reading: 'bandingAmplitude', verdict: 'recheck', limit: { max: 1.5 } })
  expect(words([step(8, 'pass', null)])).toEqual(['pass'])
  expect(words([step(6, 'fail', 3, 'fine'), step(8, 'pass', null)])).toEqual(['fail', 'pass'])
})

it('asks nothing where no limit does', () => {
  expect(belowUnread([step(8, 'pass', null)], { solidDensity: { min: 3 } })[0]!.verdict).toBe('pass')
})

import { expect, it } from 'vitest'
import { lookedFlaws } from '../../../src/measure/looked-flaws.js'
import { flawEvidence, flaws } from '../../support/flaw-evidence.js'

it('hands on what was found, and says why there is nothing to hand on', () => {
  const found = flaws({ pinhole: 2 })
  expect(lookedFlaws(flawEvidence(found), 'pinholeCount')).toBe(found)
  expect(lookedFlaws(flawEvidence(undefined), 'pinholeCount')).toMatchObject({
    reading: 'pinholeCount',
    because: expect.stringContaining('nobody looked'),
  })
  const not = { because: 'no clear film was found', next: 'scan again' }
  expect(lookedFlaws(flawEvidence(not), 'speckCount')).toEqual({ reading: 'speckCount', ...not })
  expect(lookedFlaws(flawEvidence({ ...found, tooMany: true }), 'pinholeCount')).toMatchObject({
    because: expect.stringContaining('more separate spots than any film has flaws'),
  })
})

import { expect, it } from 'vitest'
import { flawsWithin } from '../../../src/measure/flaws-within.js'
import type { Flaw, MeasuredFlaws } from '../../../src/model/flaw.js'

const flaw = (id: string, kind: Flaw['kind'], column: number): Flaw => ({
  id,
  kind,
  place: { column, row: 10 },
  filmMm: null,
  diameterUm: 100,
  expandedUm: 5,
  lengthMm: null,
  widthUm: null,
  leakedMm2: 0.01,
  possibleDust: false,
  members: 1,
  corners: [],
})
const flaws: MeasuredFlaws = {
  list: [flaw('flaw-1', 'pinhole', 5), flaw('flaw-2', 'speck', 50), flaw('flaw-3', 'pinhole', 60)],
  counts: { pinhole: 2, scratch: 0, missingNozzle: 0, thinSpot: 0, speck: 1, hair: 0 },
  inspectedMm2: { solid: 100, clear: 100 },
  skippedMm2: {},
  rates: { light: null, dark: null },
  leastUm: 60,
  tooMany: false,
}

it('keeps the flaws of a part and counts them anew', () => {
  const part = flawsWithin(flaws, ({ column }) => column < 20)
  expect(part).toMatchObject({ list: [{ id: 'flaw-1' }], counts: { pinhole: 1, speck: 0 } })
})

it('hands on why no flaws were looked for', () => {
  const none = { because: 'no clear film was found', next: '' }
  expect(flawsWithin(none, () => true)).toBe(none)
})

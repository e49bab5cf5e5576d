import { describe, expect, it } from 'vitest'
import type { MeasuredScan } from '../../../src/model/measured.js'
import type { MeasuredStrip } from '../../../src/model/strip.js'
import { stripView } from '../../../src/report/strip-view.js'
import { stripEvidence } from '../../support/strip-evidence.js'

const { laid } = stripEvidence().strip
const STRIP: MeasuredStrip = { ...laid, tones: [], lines: [], lost: [], artwork: {} }
const view = (strip: Partial<MeasuredStrip>, more: Partial<MeasuredScan> = {}) =>
  stripView({ strip: { ...STRIP, ...strip }, ...more }, 'calibrated' as never)!
const fact = (found: ReturnType<typeof view>, name: string) => found.facts.find(one => one.name === name)?.value

describe('stripView', () => {
  it('is nothing without a strip', () => {
    expect(stripView({}, 'calibrated' as never)).toBeNull()
  })

  it('names what the code says and leaves out what it does not', () => {
    const found = view({ identity: { ...laid.identity, dpi: { across: 1440, along: 720 }, stock: 'stock-a' } })
    expect(fact(found, 'Positive')).toBe('p-1')
    expect(fact(found, 'Printed at')).toBe('1440 dpi across, 720 dpi along the feed')
    expect(fact(found, 'Film stock')).toBe('stock-a')
    expect(found.facts.map(({ name }) => name)).not.toContain('Setting')
    expect(found.picture).toBeNull()
  })

  it('says which code was read and how it lies', () => {
    expect(fact(view({}), 'Read from')).toBe('the codes on both ends')
    expect(fact(view({ ends: ['last'] }), 'Read from')).toBe('the code on its last end alone; the other one is damaged')
    expect(fact(view({ mirrored: true }), 'On the scan')).toBe('shows mirrored')
  })

  it('names lines without a width, and the artwork’s own readings', () => {
    const found = view({
      lost: [{ polarity: 'negative', direction: 'feed', intendedUm: 50.4, because: 'it has filled in' }],
      artwork: {
        solidDensity: {
          value: 3.21,
          unit: 'D',
          expanded: 0.03,
          bound: null,
          n: 4,
          parts: [],
          budget: [],
          method: 'solidDensity@1',
        },
      },
    })
    expect(found.lost).toEqual([{ what: 'The gap of 50 um along the feed', why: 'it has filled in' }])
    expect(found.beside).toHaveLength(1)
    expect(found.beside[0]!.text).toContain('3.21')
  })

  it('keeps the words of a code as words: the page escapes them', () => {
    const found = view({ identity: { ...laid.identity, setting: '<b>' } })
    expect(fact(found, 'Setting')).toBe('<b>')
  })
})

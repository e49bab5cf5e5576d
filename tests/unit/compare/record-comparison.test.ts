import { describe, expect, it } from 'vitest'
import {
  recordChanged,
  recordComparison,
  recordLost,
  recordOlder,
  recordUncompared,
} from '../../../src/compare/record-comparison.js'
import type { Comparison } from '../../../src/model/growth.js'
import type { Reading } from '../../../src/model/reading.js'

const baseline = { id: 'first', scannedAt: '2025-01-01T10:00:00Z' }
const reading = (value: number): Reading => ({
  value,
  unit: 'um',
  expanded: 1,
  bound: null,
  n: 9,
  parts: [],
  budget: [],
  method: 'edgeGrowth@1',
})
const compared = (change: Partial<Extract<Comparison, { outcome: 'compared' }>> = {}): Comparison => ({
  outcome: 'compared',
  readings: { edgeGrowth: reading(4), spreadGrowth: reading(3) },
  notMeasured: [{ reading: 'densityLoss', because: 'too deep', next: 'bracket' }],
  placement: { turnDegrees: 1, mirrored: false, scale: { across: 1, along: 1 }, matched: 1, inView: 1 },
  strokes: [],
  profiles: null,
  crops: null,
  looksReprinted: false,
  notes: ['seen'],
  ...change,
})

describe('recordComparison', () => {
  it('keeps what was measured, counts the days, and hands the limits what they can name', () => {
    const made = recordComparison(compared(), baseline, '2025-01-22T16:00:00Z', ['measured again'])
    expect(made.growth).toMatchObject({ baseline, days: 21.25, edgeGrowth: { value: 4 }, spreadGrowth: { value: 3 } })
    expect(made.growth).not.toHaveProperty('densityLoss')
    expect(Object.keys(made.readings)).toEqual(['edgeGrowth'])
    expect(made.notMeasured).toHaveLength(1)
    expect(made.notes).toEqual(['measured again', 'seen'])
    expect(made.standing).toEqual({ kind: 'compared', baseline })
  })

  it('suggests a new baseline when ink seems to have crept back', () => {
    expect(
      recordComparison(compared({ looksReprinted: true }), baseline, '2025-02-01T10:00:00Z', []).notes.join(),
    ).toContain('looks like a new print')
  })

  it('keeps another film, a failed comparison and a lost baseline apart, each with its own doubt', () => {
    const wrong = recordComparison(
      { outcome: 'notSameFilm', placement: null, why: 'Only 9 % look alike.' },
      baseline,
      '2025-02-01T10:00:00Z',
      [],
    )
    expect(wrong).toMatchObject({ growth: null, standing: { kind: 'apart', because: 'notSameFilm', baseline } })
    const none = recordComparison(
      { outcome: 'notCompared', why: 'Empty.', next: 'x' },
      baseline,
      '2025-02-01T10:00:00Z',
      [],
    )
    const lost = recordLost(baseline, 'abc')
    const changed = recordChanged(baseline, 'abc')
    const codes = [wrong, none, lost, changed].map(made => made.doubts.map(doubt => doubt.code))
    expect(codes).toEqual([['notSameFilm'], ['notCompared'], ['baselineLost'], ['baselineChanged']])
    expect(changed.doubts[0]!.why).toContain('baseline file changed')
    for (const made of [wrong, none, lost, changed])
      expect(made.notMeasured.map(n => n.reading)).toEqual(['edgeGrowth', 'fringeGrowth', 'densityLoss'])
  })

  it('of a first scan growth is not asked', () => {
    const first = recordUncompared({ kind: 'baseline', reprint: false })
    expect(first.notMeasured.every(n => n.notAsked === true)).toBe(true)
    expect(first).toMatchObject({ growth: null, doubts: [], notes: [], standing: { kind: 'baseline' } })
    expect(recordUncompared({ kind: 'baseline', reprint: true }).notes).toHaveLength(1)
  })

  it('an older scan of the same film begins its life, and says so; one with wider edges is not believed', () => {
    const at = '2024-12-01T10:00:00Z'
    const of = (value: number) =>
      compared({
        readings: {
          edgeGrowth: { value, unit: 'um', expanded: 1, bound: null, n: 9, parts: [], budget: [], method: 'x' },
        },
      })
    for (const value of [-4, 0.9]) {
      const taken = recordOlder(of(value), baseline, at)
      expect(taken).toMatchObject({ growth: null, standing: { kind: 'earliest', before: baseline } })
      expect(taken.doubts).toMatchObject([
        { code: 'earliest', why: expect.stringContaining('from this scan from now on') },
      ])
    }
    const odd = recordOlder(of(1.1), baseline, at)
    expect(odd).toMatchObject({ growth: null, standing: { kind: 'apart', because: 'beforeBaseline', baseline } })
    expect(odd.doubts[0]!.why).toContain('1.1 um wider')
    const other = recordOlder({ outcome: 'notSameFilm', placement: null, why: 'Only 9 %.' }, baseline, at)
    expect(other.standing).toMatchObject({ kind: 'apart', because: 'notSameFilm' })
  })
})

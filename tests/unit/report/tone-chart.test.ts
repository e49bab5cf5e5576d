import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { toneCorrection } from '../../../src/advise/tone-correction.js'
import { toneCurveChart, toneErrorChart } from '../../../src/report/tone-chart.js'
import { stripCurves } from '../../support/strip-curves.js'

describe('charts of tints', () => {
  it('tell in words what they show', () => {
    const { tones } = stripCurves()
    expect(toneErrorChart(tones, null).toHTML()).toContain('50 percent by 9.0')
    expect(toneCurveChart(tones, null).toHTML()).toContain('50 percent prints 59.0')
  })

  it('hatch only what the job type does not allow', () => {
    const { tones } = stripCurves()
    expect(toneErrorChart(tones, null).toHTML()).not.toContain('url(#not-allowed)')
    expect(toneErrorChart(tones, { max: 3 }).toHTML()).toContain('url(#not-allowed)')
  })

  it('draw the correction dashed, where there is one', () => {
    const { tones } = stripCurves()
    const correction = toneCorrection(tones)
    expect(correction.kind).toBe('made')
    if (correction.kind === 'made')
      expect(toneCurveChart(tones, correction).toHTML()).toContain('stroke-dasharray="5 4"')
    expect(toneCurveChart(tones, null).toHTML()).not.toContain('stroke-dasharray')
  })

  it('have no number missing, whatever was measured', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -20, max: 120, noNaN: true }), { minLength: 1, maxLength: 10 }),
        fc.constantFrom(null, { min: -2 }, { max: 2 }, { min: -2, max: 2 }),
        (values, limit) => {
          const tones = values.map((measured, i) => ({ intended: 5 + 9 * i, measured, expanded: 0.5 }))
          const correction = toneCorrection(tones)
          const drawn = `${toneErrorChart(tones, limit).toHTML()}${toneCurveChart(tones, correction.kind === 'made' ? correction : null).toHTML()}`
          expect(drawn).not.toMatch(/NaN|Infinity|undefined/)
        },
      ),
      { numRuns: 20, seed: 9 },
    )
  })
})

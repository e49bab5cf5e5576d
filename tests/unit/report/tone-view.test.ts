import { describe, expect, it } from 'vitest'
import { inspectionPage } from '../../../src/report/inspection-page.js'
import { toneView } from '../../../src/report/tone-view.js'
import { sampleInspection } from '../../support/sample-inspection.js'
import { stripCurves } from '../../support/strip-curves.js'

const LIMITED = { limits: { toneValueError: { min: -3, max: 3 } } }

describe('tints and lines on the report', () => {
  it('are not there without a strip, nor with one that told nothing', async () => {
    const { inspection, jobType } = await sampleInspection('pass')
    expect(toneView(inspection, jobType, 'a.csv')).toBeNull()
    expect(toneView({ ...inspection, strip: { tones: [], lines: [] } }, jobType, 'a.csv')).toBeNull()
  })

  it('say how far tints are off, what the job type allows and what to send', async () => {
    const { inspection, jobType } = await sampleInspection('pass')
    const view = toneView({ ...inspection, strip: stripCurves() }, { ...jobType, ...LIMITED }, 'reef.tone.csv')!
    expect(view.tones!.band).toBe('The job type allows \u22123 to +3\u00a0%.')
    expect(view.tones!.errors.toHTML()).toContain('url(#not-allowed)')
    expect(view.tones!.rows.map(row => row.wanted)).toEqual(
      [10, 20, 30, 40, 50, 60, 70, 80, 90].map(t => `${t}\u00a0%`),
    )
    const middle = view.tones!.rows[4]!
    expect(Number.parseFloat(middle.prints)).toBeCloseTo(59, 0)
    expect(Number.parseFloat(middle.send)).toBeCloseTo(41, 0)
    expect(view.lines!.columns).toHaveLength(4)
    expect(view.lines!.rows[0]!.cells[0]).toEqual({ text: '50 → 64\u00a0±\u00a02', gain: '+14' })
    expect(view.lines!.rows[0]!.cells[3]!.gain).toBe('\u221211')
    // The thinnest gap was not measured: its column is one shorter.
    expect(view.lines!.rows[5]!.cells.map(cell => cell.text === '')).toEqual([false, false, true, true])
  })

  it('say when there are too few tints for a correction, and which no table brings back', async () => {
    const { inspection, jobType } = await sampleInspection('pass')
    const curves = stripCurves()
    const few = toneView({ ...inspection, strip: { ...curves, tones: curves.tones.slice(0, 2) } }, jobType, 'a.csv')!
    expect(few.tones!.notMade).toBe('No correction: only 2 tints were measured; a correction needs 4 or more.')
    expect(few.tones!.rows).toEqual([])
    const full = curves.tones.map(t => ({ ...t, measured: Math.min(100, t.intended * 1.3) }))
    const filled = toneView({ ...inspection, strip: { ...curves, tones: full } }, jobType, 'a.csv')!
    expect(filled.tones!.beyond).toMatch(/^No table brings back .*90 %, 95 %/)
  })

  it('stand on the page, with nothing blank and every chart told in words', async () => {
    const input = await sampleInspection('pass')
    const page = inspectionPage({
      ...input,
      jobType: { ...input.jobType, limits: { ...input.jobType.limits, ...LIMITED.limits } },
      inspection: { ...input.inspection, strip: stripCurves() },
      toneFile: 'pier.tone.csv',
    })
    expect(page).toContain('Tints and lines of the control strip')
    expect(page).toContain('pier.tone.csv')
    expect(page).toContain('aria-label="How far tints are off: 5 percent by 1.7')
    expect(page).toContain('ultraviolet light that harms eyes and skin')
    const words = page.replace(/data:image\/png;base64,[A-Za-z0-9+/=]+/g, '')
    expect(/.{0,60}(NaN|undefined|Infinity|\[object).{0,60}/.exec(words)?.[0]).toBeUndefined()
  })
})

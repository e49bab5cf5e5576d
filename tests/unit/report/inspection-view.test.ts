import { describe, expect, it } from 'vitest'
import { inspectionView } from '../../../src/report/inspection-view.js'
import { sampleInspection } from '../../support/sample-inspection.js'

const plain = (text: string) => text.replace(/[\u00a0\u202f]/g, ' ')

describe('inspectionView', () => {
  it('leads with the worst finding and what to do', async () => {
    const view = inspectionView(await sampleInspection('fail'))
    expect(view.verdictWord).toBe('FAIL')
    expect(view.reason.toHTML()).toContain('misses the limit')
    expect(view.allMet).toBe('')
    expect(view.next.toHTML()).toMatch(/Print it again/)
    expect(view.findings.map(finding => finding.verdict)).toEqual([
      'fail',
      'fail',
      'recheck',
      'recheck',
      'pass',
      'pass',
      'pass',
    ])
    expect(view.unjudged.map(reading => reading.label)).toEqual(['Ink spread'])
  })

  it('says after a pass when a kept positive is due again', async () => {
    const input = await sampleInspection('pass')
    expect(inspectionView(input).next.toHTML()).toContain('2025-04-03')
    expect(inspectionView(input).allMet).toBe('All 7 limits are met. Nearest to failing:')
    const never = { ...input, jobType: { ...input.jobType, rescanEveryDays: null } }
    expect(inspectionView(never).next.toHTML()).toBe('Hand it to the burn room.')
  })

  it('puts the net density into light, with its range', async () => {
    const view = inspectionView(await sampleInspection('pass'))
    const rows = view.light!.rows.map(row => Object.values(row).map(plain))
    // net 3.463 - 0.0583 = 3.4047: 10^3.4047 = 2539; U = hypot(0.052, 0.0064) = 0.0524
    expect(rows[0]).toEqual([
      'Solid density',
      '3.40 ± 0.05 D',
      '1 part in 2 500',
      'between 2 300 and 2 900',
      '0.039 %',
      '11.3',
    ])
  })

  it('puts a bound into light as a bound', async () => {
    const view = inspectionView(await sampleInspection('bound'))
    const row = view.light!.rows[0]!
    expect(plain(row.net)).toBe('at least 3.26 D')
    expect(plain(row.partsIn)).toMatch(/^less than 1 part in /)
    expect(row.leak).toMatch(/^less than /)
  })

  it('shows the softest edge that the readings name, and the middle one', async () => {
    const view = inspectionView(await sampleInspection('pass'))
    expect(view.edges.shown.map(edge => edge.heading)).toEqual(['Softest edge, E7', 'Middle edge, E2'])
  })

  it('sets today beside the history, newest first, and tells of another calibration', async () => {
    const input = await sampleInspection('pass')
    const view = inspectionView({ ...input, history: [...input.history, input.inspection] })
    expect(view.history.count).toBe(4)
    expect(view.history.rows.map(row => row.today)).toEqual([true, false, false, false, false])
    expect(view.history.caution).toEqual(['Not all of these were taken under the same scanner calibration.'])
    expect(view.history.charts.length).toBeGreaterThan(1)
  })

  it('tells of another version of a method', async () => {
    const input = await sampleInspection('pass')
    const rise = input.inspection.readings.riseWidth!
    const older = input.history.map(one => ({
      ...one,
      scanner: input.inspection.scanner,
      readings: { ...one.readings, riseWidth: { ...rise, method: 'rise-width@0' } },
    }))
    expect(inspectionView({ ...input, history: older }).history.caution).toEqual([
      'Not all of these were read by the same version of the method.',
    ])
  })

  it('tells whether the aim is reached, never as a verdict', async () => {
    const input = await sampleInspection('pass')
    const solid = (which: typeof input) =>
      inspectionView(which).findings.find(finding => finding.label === 'Solid density')!
    expect(solid(input)).toMatchObject({ verdict: 'pass', aim: '3.80\u00a0D, not reached' })
    const [first, ...others] = input.inspection.findings
    const lower = { ...first!, limit: { min: 3, aim: 3.4 } }
    const eased = { ...input, inspection: { ...input.inspection, findings: [lower, ...others] } }
    expect(solid(eased).aim).toBe('3.40\u00a0D, reached')
    expect(solid(await sampleInspection('bound')).aim).toBe('3.80\u00a0D, perhaps reached')
    expect(solid(await sampleInspection('uncalibrated')).aim).toBe('3.80\u00a0D')
  })

  it('shows a doubt about the scan that no finding carries', async () => {
    const input = await sampleInspection('pass')
    const doubt = { code: 'drift', why: 'Open light has drifted by 6 %.', next: 'Calibrate again.' } as const
    expect(
      inspectionView({ ...input, measured: { ...input.measured, doubts: [doubt] } }).doubts.map(d =>
        plain(d.why.toHTML()),
      ),
    ).toEqual([doubt.why])
    expect(inspectionView(await sampleInspection('uncalibrated')).doubts).toEqual([])
  })

  it('refuses a budget that is not a number', async () => {
    const input = await sampleInspection('pass')
    const base = input.inspection.readings.baseDensity!
    const broken = { ...base, budget: [{ name: 'black level', standard: Number.NaN }] }
    expect(() =>
      inspectionView({
        ...input,
        inspection: { ...input.inspection, readings: { ...input.inspection.readings, baseDensity: broken } },
      }),
    ).toThrow(/uncertainty component.*NaN/)
  })
})

import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { judgeScan } from '../../../src/judge/judge-scan.js'
import type { JobType, Limit } from '../../../src/model/job-type.js'
import type { Doubt } from '../../../src/model/measured.js'
import { READINGS, type Reading, type ReadingName } from '../../../src/model/reading.js'
import { jobWith, measuredWith, reading } from './measured-with.js'

const DRIFT: Doubt = { code: 'drift', why: 'The light drifted by 7 %.', next: 'calibrate again' }
const UNCALIBRATED: Doubt = { code: 'uncalibrated', why: 'No calibration.', next: 'calibrate' }

const solid = (value: number, expanded = 0.03) => ({ solidDensity: reading('solidDensity', value, expanded) })
const job = jobWith({ solidDensity: { min: 3 } })
const twoLimits = jobWith({ solidDensity: { min: 3 }, riseWidth: { max: 60 } })

describe('judgeScan', () => {
  it('passes a film whose every limit holds', () => {
    const { verdict, findings } = judgeScan(measuredWith(solid(3.4)), job)
    expect(verdict).toBe('pass')
    expect(findings).toEqual([
      {
        reading: 'solidDensity',
        verdict: 'pass',
        limit: { min: 3 },
        why: 'Solid density is 3.40 ± 0.03 D; the job needs 3.00 D or more.',
        next: '',
      },
    ])
  })

  it('lets one fail fail the film, and else one recheck make it a recheck', () => {
    const soft = { riseWidth: reading('riseWidth', 61, 3) }
    expect(judgeScan(measuredWith({ ...solid(2.5), ...soft }), twoLimits).verdict).toBe('fail')
    expect(judgeScan(measuredWith({ ...solid(3.5), ...soft }), twoLimits).verdict).toBe('recheck')
  })

  it('rechecks what was not measured, with its own reason', () => {
    const notMeasured = [
      { reading: 'riseWidth', because: 'no straight edge of 3 mm was found.', next: 'print a strip' },
    ] as const
    const { verdict, findings } = judgeScan(measuredWith(solid(3.5), { notMeasured }), twoLimits)
    expect(verdict).toBe('recheck')
    expect(findings[0]).toEqual({
      reading: 'riseWidth',
      verdict: 'recheck',
      limit: { max: 60 },
      why: 'Edge rise width was not measured: no straight edge of 3 mm was found.',
      next: 'print a strip',
    })
  })

  it('rechecks what is absent without a reason, and what this version cannot measure', () => {
    const absent = judgeScan(measuredWith(solid(3.5)), twoLimits)
    expect(absent.findings[0]?.why).toBe('Edge rise width was not measured, and the measurement does not say why.')
    const later = judgeScan(
      measuredWith(solid(3.5)),
      jobWith({ solidDensity: { min: 3 }, registerError: { max: 100 } }),
    )
    expect(later.verdict).toBe('recheck')
    expect(later.findings[0]?.why).toBe('Register error is not something this version of burngate can measure.')
    expect(later.findings[0]?.next).toContain('job-types/crest.yaml')
  })

  it('never passes by a job type that decides nothing', () => {
    for (const limits of [{}, { solidDensity: { aim: 3.8 } }, { solidDensity: { why: 'dark' } }]) {
      const { verdict, findings } = judgeScan(measuredWith(solid(3.5)), jobWith(limits))
      expect(verdict).toBe('recheck')
      expect(findings).toHaveLength(1)
      expect(findings[0]).toMatchObject({ reading: 'scan', verdict: 'recheck', limit: null })
      expect(findings[0]?.why).toContain('sets no limit')
    }
  })

  it('has no finding for a limit that is only an aim', () => {
    const { findings } = judgeScan(
      measuredWith(solid(3.5)),
      jobWith({ solidDensity: { min: 3 }, riseWidth: { aim: 40 } }),
    )
    expect(findings.map(f => f.reading)).toEqual(['solidDensity'])
  })

  it('forbids a pass under a doubt, and keeps a fail', () => {
    const good = judgeScan(measuredWith(solid(3.5), { doubts: [DRIFT] }), job)
    expect(good.verdict).toBe('recheck')
    expect(good.findings.map(f => [f.reading, f.verdict])).toEqual([
      ['scan', 'recheck'],
      ['solidDensity', 'pass'],
    ])
    expect(good.findings[0]).toMatchObject({ why: DRIFT.why, next: DRIFT.next, limit: null })
    const bad = judgeScan(measuredWith(solid(2.5), { doubts: [DRIFT] }), job)
    expect(bad.verdict).toBe('fail')
    expect(bad.findings.map(f => f.reading)).toEqual(['solidDensity', 'scan'])
  })

  it('neither passes nor fails anything without a calibration, and shows code density', () => {
    for (const value of [1, 2.99, 3.5]) {
      const { verdict, findings } = judgeScan(measuredWith(solid(value), { doubts: [UNCALIBRATED] }), job)
      expect(verdict).toBe('recheck')
      expect(findings.map(f => f.verdict)).toEqual(['recheck', 'recheck'])
      expect(findings[1]?.why).toContain(`Solid density reads ${value.toFixed(2)} in code density`)
    }
    const edge = measuredWith({ riseWidth: reading('riseWidth', 70, 3) }, { doubts: [UNCALIBRATED] })
    expect(judgeScan(edge, jobWith({ riseWidth: { max: 60 } })).findings[1]?.why).toContain(
      '70.0 um with the response unknown',
    )
    const nothing = measuredWith(solid(Number.NaN), { doubts: [UNCALIBRATED] })
    expect(judgeScan(nothing, job).findings[1]?.why).toContain('reads no usable number')
  })

  it('takes an unknown response for uncalibrated even when no doubt says so', () => {
    const { verdict, findings } = judgeScan(measuredWith(solid(3.5), { response: 'unknown' }), job)
    expect(verdict).toBe('recheck')
    expect(findings.map(f => [f.reading, f.verdict])).toEqual([
      ['scan', 'recheck'],
      ['solidDensity', 'recheck'],
    ])
  })

  it('puts the worst first: fails by U outside, then rechecks, then passes', () => {
    const readings = {
      solidDensity: reading('solidDensity', 2.9, 0.02), // 5 U short
      riseWidth: reading('riseWidth', 90, 3), // 10 U over
      raggedness: reading('raggedness', 14.5, 1), // about 84 % sure
      fringeWidth: reading('fringeWidth', 80.5, 3), // about 37 % sure
      baseDensity: reading('baseDensity', 0.1, 0.02), // 2.5 U inside
      solidDensityLowest: reading('solidDensityLowest', 3.5, 0.02), // far inside
    }
    const limits: JobType['limits'] = {
      baseDensity: { max: 0.15 },
      solidDensityLowest: { min: 2.8 },
      raggedness: { max: 15 },
      fringeWidth: { max: 80 },
      inkSpread: { max: 35 },
      solidDensity: { min: 3 },
      riseWidth: { max: 60 },
    }
    const { findings } = judgeScan(measuredWith(readings, { doubts: [DRIFT] }), jobWith(limits))
    expect(findings.map(f => f.reading)).toEqual([
      'riseWidth',
      'solidDensity',
      'scan',
      'inkSpread',
      'fringeWidth',
      'raggedness',
      'baseDensity',
      'solidDensityLowest',
    ])
  })

  it('refuses a reading in another unit as the bug it is', () => {
    const wrong: Reading = { ...reading('riseWidth', 40, 3), unit: 'mm' }
    expect(() => judgeScan(measuredWith({ riseWidth: wrong }), jobWith({ riseWidth: { max: 60 } }))).toThrow(
      'riseWidth must be in um; got mm',
    )
  })
})

describe('judgeScan, whatever comes', () => {
  const names = Object.keys(READINGS) as ReadingName[]
  const number = fc.oneof(
    fc.double({ min: 0, max: 100, noNaN: true }),
    fc.constantFrom(Number.NaN, Number.POSITIVE_INFINITY, 3),
  )
  const readings = fc
    .uniqueArray(
      fc.record({
        name: fc.constantFrom(...names),
        value: number,
        U: number,
        bound: fc.constantFrom(null, 'atLeast' as const, 'atMost' as const),
      }),
      {
        selector: r => r.name,
      },
    )
    .map(list => Object.fromEntries(list.map(r => [r.name, reading(r.name, r.value, r.U, r.bound)])))
  const limit = fc.oneof(
    fc.constant<Limit>({ aim: 3 }),
    fc.double({ min: 0, max: 100, noNaN: true }).map((min): Limit => ({ min })),
    fc.double({ min: 0, max: 100, noNaN: true }).map((max): Limit => ({ max })),
  )
  const limits = fc.uniqueArray(fc.tuple(fc.constantFrom(...names), limit), { selector: ([name]) => name })
  const doubts = fc.subarray([DRIFT, UNCALIBRATED])
  const rule = fc.constantFrom('guarded' as const, 'simple' as const)

  it('gives the same findings whatever the order of limits and readings', () => {
    fc.assert(
      fc.property(readings, limits, doubts, rule, (r, l, d, how) => {
        const forward = judgeScan(measuredWith(r, { doubts: d }), jobWith(Object.fromEntries(l), how))
        const backward = judgeScan(
          measuredWith(Object.fromEntries(Object.entries(r).reverse()), { doubts: d }),
          jobWith(Object.fromEntries([...l].reverse()), how),
        )
        expect(backward).toEqual(forward)
      }),
      { seed: 8, numRuns: 300 },
    )
  })

  it('passes only when every deciding limit has a usable reading, no doubt stands, and every finding passes', () => {
    fc.assert(
      fc.property(readings, limits, doubts, rule, (r, l, d, how) => {
        const { verdict, findings } = judgeScan(measuredWith(r, { doubts: d }), jobWith(Object.fromEntries(l), how))
        const deciding = l.filter(([, x]) => x.min !== undefined || x.max !== undefined)
        const sound = deciding.every(([name]) => Number.isFinite(r[name]?.value) && Number.isFinite(r[name]?.expanded))
        if (verdict === 'pass') {
          expect(d).toEqual([])
          expect(deciding.length).toBeGreaterThan(0)
          expect(sound).toBe(true)
        }
        expect(verdict === 'pass').toBe(findings.length > 0 && findings.every(f => f.verdict === 'pass'))
        expect(verdict === 'fail').toBe(findings.some(f => f.verdict === 'fail'))
        if (d.includes(UNCALIBRATED)) expect(findings.every(f => f.verdict === 'recheck')).toBe(true)
        for (const f of findings) {
          expect(f.why).toMatch(/^[A-Z][^\n]*\.$/)
          expect(f.why).not.toMatch(/NaN|Infinity|undefined/)
          expect(f.next === '').toBe(f.verdict === 'pass')
        }
      }),
      { seed: 9, numRuns: 500 },
    )
  })
})

import { describe, expect, it } from 'vitest'
import { forecastGrowth } from '../../../src/compare/forecast-growth.js'
import type { Inspection } from '../../../src/model/inspection.js'
import type { Reading } from '../../../src/model/reading.js'
import { inspectionRecord } from '../../support/inspection-record.js'

const START = '2026-01-01T08:00:00Z'
const LIMITS = { edgeGrowth: { max: 15 } }

function reading(value: number, unit: Reading['unit'], expanded = 1): Reading {
  return { value, unit, expanded, bound: null, n: 8, parts: [], budget: [], method: 'edge-growth@1' }
}

const BASELINE = inspectionRecord({
  id: 'first',
  scannedAt: START,
  readings: { inkSpread: reading(12, 'um', 2), solidDensity: reading(3.5, 'D', 0.03) },
})

function later(days: number, growth: number, change: Partial<Inspection> = {}): Inspection {
  const scannedAt = new Date(Date.parse(START) + days * 86_400_000).toISOString()
  const baseline = { id: 'first', scannedAt: START }
  return {
    ...inspectionRecord({ id: `d${days}`, sha256: `${days}`, scannedAt, inspectedAt: scannedAt }),
    standing: { kind: 'compared', baseline },
    growth: {
      baseline,
      days,
      edgeGrowth: reading(growth, 'um'),
      forecast: null,
      placement: { turnDegrees: 0, mirrored: false, scale: { across: 1, along: 1 }, matched: 1, inView: 1 },
      notes: [],
    },
    ...change,
  }
}

const SCANS = [later(20, 2), later(40, 4), later(60, 6)]
const asked = (history: readonly Inspection[], newest = history.at(-1)!) => ({ newest, history, limits: LIMITS })

describe('forecastGrowth', () => {
  it('names the limit, its date and 80 % about it, with a band to draw', () => {
    const { forecast, bands } = forecastGrowth(asked([BASELINE, ...SCANS]))
    expect(forecast!.reaches).toBe('edgeGrowth')
    const days = (iso: string) => (Date.parse(iso) - Date.parse(START)) / 86_400_000
    expect(days(forecast!.on)).toBeGreaterThan(145)
    expect(days(forecast!.earliest)).toBeLessThan(days(forecast!.on))
    expect(days(forecast!.latest!)).toBeGreaterThan(days(forecast!.on))
    expect(bands).toHaveLength(1)
    for (const { value, low, high } of bands[0]!.points.slice(1)) {
      expect(low).toBeLessThan(value)
      expect(high).toBeGreaterThan(value)
    }
  })

  it('takes the history in any order, and a scan inspected twice once', () => {
    const told = forecastGrowth(asked([BASELINE, ...SCANS]))
    const mixed = [SCANS[2]!, BASELINE, SCANS[0]!, SCANS[1]!]
    expect(forecastGrowth(asked(mixed, SCANS[2]!))).toEqual(told)
    const older = later(40, 11, { inspectedAt: START })
    expect(forecastGrowth(asked([BASELINE, older, ...SCANS]))).toEqual(told)
  })

  it('leaves out scans that stand apart, later ones, bounds and those of another print', () => {
    const told = forecastGrowth(asked([BASELINE, ...SCANS]))
    const ref = { id: 'first', scannedAt: START }
    const apart = later(50, 14, { standing: { kind: 'apart', baseline: ref, because: 'notSameFilm' } })
    const bound = later(51, 14)
    const withBound = {
      ...bound,
      growth: { ...bound.growth!, edgeGrowth: { ...reading(14, 'um'), bound: 'atMost' as const } },
    }
    const reprint = { id: 'second', scannedAt: '2026-02-15T08:00:00Z' }
    const other = later(52, 14, { standing: { kind: 'compared', baseline: reprint } })
    const ofOther = { ...other, growth: { ...other.growth!, baseline: reprint } }
    const history = [BASELINE, ...SCANS, apart, withBound, ofOther, later(80, 14), later(4000, 14)]
    expect(forecastGrowth(asked(history, SCANS[2]!))).toEqual(told)
  })

  it('says why not', () => {
    expect(forecastGrowth(asked([BASELINE, SCANS[0]!]))).toMatchObject({
      forecast: null,
      because: '2 scans of the 3 that it takes',
    })
    expect(forecastGrowth({ ...asked([BASELINE, ...SCANS]), limits: {} })).toMatchObject({
      forecast: null,
      because: 'the job type has no limit on growth or on the spread of edges',
    })
    expect(forecastGrowth({ ...asked([BASELINE, ...SCANS]), newest: BASELINE })).toMatchObject({ forecast: null })
  })

  it('does without what the baseline does not say', () => {
    expect(forecastGrowth(asked([{ ...BASELINE, readings: {} }, ...SCANS])).forecast).not.toBeNull()
    expect(forecastGrowth(asked(SCANS)).forecast).not.toBeNull()
  })
})

describe('forecastGrowth of readings that go with the ink’s spread', () => {
  const first = inspectionRecord({
    id: 'first',
    scannedAt: START,
    readings: { inkSpread: reading(5, 'um', 0.02), riseWidth: reading(1.7 * 5, 'um', 0.03) },
  })
  // Closed form (Fick): sigma^2 = 25, 31.048, 37.096, 43.144, 49.192 um^2 after 0, 7, 14, 21, 28 days.
  const scans = [7, 14, 21, 28].map(days => {
    const sigma = Math.sqrt(25 + (6.048 * days) / 7)
    const record = later(days, 0)
    const readings = { inkSpread: reading(sigma, 'um', 0.02), riseWidth: reading(1.7 * sigma, 'um', 0.03) }
    return { ...record, readings, growth: { ...record.growth!, edgeGrowth: undefined } } as unknown as Inspection
  })
  const history = [first, ...scans]
  const days = (iso: string) => (Date.parse(iso) - Date.parse(START)) / 86_400_000

  it.each([
    ['inkSpread', 8],
    ['riseWidth', 1.7 * 8],
  ] as const)('%s reaches its own limit by sigma^2 = sigma0^2 + 2 D t', (name, max) => {
    const told = forecastGrowth({ newest: scans.at(-1)!, history, limits: { [name]: { max } } })
    expect(told.forecast!.reaches).toBe(name)
    // (64 - 25) / 6.048 weeks.
    expect(Math.abs(days(told.forecast!.on) - (39 / 6.048) * 7)).toBeLessThan(0.3)
    const [band] = told.bands
    expect(band).toMatchObject({ reading: name, law: 'diffusion' })
    // The band is of the reading itself, as its chart is.
    expect(band!.points[0]!.value).toBeCloseTo(name === 'inkSpread' ? 5 : 8.5, 6)
  })

  it('names the limit that is reached first', () => {
    const limits = { inkSpread: { max: 9 }, riseWidth: { max: 1.7 * 8 } }
    const told = forecastGrowth({ newest: scans.at(-1)!, history, limits })
    expect(told.forecast!.reaches).toBe('riseWidth')
    expect(told.bands).toHaveLength(2)
  })

  it('says nothing of what is over its limit from the first, a bound at first, or of another version of the method', () => {
    const of = (start: Inspection, max: number) =>
      forecastGrowth({ newest: scans.at(-1)!, history: [start, ...scans], limits: { inkSpread: { max } } }).forecast
    expect(of(first, 4.9)).toBeNull()
    const with_ = (change: object) =>
      ({ ...first, readings: { inkSpread: { ...first.readings.inkSpread!, ...change } } }) as Inspection
    expect(of(with_({ bound: 'atMost' }), 8)).toBeNull()
    expect(of(with_({ method: 'inkSpread@0' }), 8)).toBeNull()
    expect(of(with_({}), 8)).not.toBeNull()
  })
})

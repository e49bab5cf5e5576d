import {
  type Forecast,
  type ForecastBand,
  GROWTH_READINGS,
  type GrowthReadingName,
  SPREADING_READINGS,
  type SpreadingReadingName,
} from '../model/growth.js'
import type { Inspection } from '../model/inspection.js'
import type { JobType } from '../model/job-type.js'
import type { Reading } from '../model/reading.js'
import { contourSpan, edgeShift } from './edge-shift.js'
import type { GrowthLaw, GrowthSample, GrowthStart } from './fit-growth.js'
import { forecastLimit, HORIZON_DAYS } from './forecast-limit.js'

const DAY_MS = 86_400_000
/** Least density a fringe is asked at where the job type asks none, D; as in the inspection. */
const LEAST_SOLID_DENSITY = 3.0
/** Points of a band that is drawn. */
const BAND_POINTS = 41

/** One scan of a positive as the forecast takes it: the record, or its likeness before it is kept. */
export type GrowthRecord = Pick<Inspection, 'scannedAt' | 'inspectedAt' | 'growth' | 'standing' | 'readings'> & {
  readonly scan: Pick<Inspection['scan'], 'sha256'>
}

export interface ForecastQuestion {
  /** The newest scan that was compared. */
  readonly newest: GrowthRecord
  /** Every inspection of the positive, in any order; the newest may be among them. */
  readonly history: readonly (GrowthRecord & Pick<Inspection, 'id'>)[]
  readonly limits: JobType['limits']
}

export type GrowthForecast =
  | { readonly forecast: Forecast; readonly bands: readonly ForecastBand[] }
  /** No forecast, and why, as the end of a sentence. */
  | { readonly forecast: null; readonly because: string; readonly bands: readonly ForecastBand[] }

/**
 * Which limit on growth a positive reaches first, from all scans compared with the same baseline, up to the newest. One scan inspected twice counts
 * once, with its newest record; bounds, scans that stand apart and limits that allow no growth at all are left out. Edges and fringes may follow diffusion, whose
 * start is the baseline's own ink spread; loss of density only a line. Rise width and ink spread go with sigma itself: what they have grown since the
 * baseline is held against what their limit leaves, sigma^2 = sigma0^2 + 2 D t begins at the baseline's own reading.
 */
export function forecastGrowth({ newest, history, limits }: ForecastQuestion): GrowthForecast {
  if (newest.growth === null)
    return { forecast: null, because: 'this scan was not compared with a first one', bands: [] }
  const baseline = baselineRecord(newest, history)
  const records = comparedWith(newest, history)
  const begun = Date.parse(newest.growth.baseline.scannedAt)
  const reasons: string[] = []
  const found: { forecast: Forecast; band: ForecastBand }[] = []
  const series = [
    ...GROWTH_READINGS.map(name => growthSeries(name, records, baseline, begun, limits)),
    ...SPREADING_READINGS.map(name => spreadingSeries(name, records, baseline, begun, limits)),
  ]
  for (const { name, from, samples, start, limit } of series) {
    if (!(limit !== undefined && limit > 0)) continue
    const laws: readonly GrowthLaw[] = name === 'densityLoss' ? ['none', 'line'] : ['none', 'line', 'diffusion']
    const answer = forecastLimit(samples, start, limit, laws)
    if ('refused' in answer) {
      reasons.push(answer.because)
      continue
    }
    const { on, earliest, latest, law, band } = answer.forecast
    const end = Math.min(1.15 * (latest ?? 1.5 * on), HORIZON_DAYS, 3 * on)
    const last = Math.max(end, 1.05 * Math.max(...samples.map(s => s.days)))
    found.push({
      forecast: {
        reaches: name,
        on: dateOf(begun, on),
        earliest: dateOf(begun, earliest),
        latest: latest === null ? null : dateOf(begun, latest),
      },
      band: {
        reading: name,
        law: law === 'diffusion' ? 'diffusion' : 'line',
        points: Array.from({ length: BAND_POINTS }, (_, i) => {
          const days = (last * i) / (BAND_POINTS - 1)
          const { value, low, high } = band(days)
          return { at: dateOf(begun, days), value: from + value, low: from + low, high: from + high }
        }),
      },
    })
  }
  found.sort((a, b) => Date.parse(a.forecast.on) - Date.parse(b.forecast.on))
  const bands = found.map(({ band }) => band)
  if (found[0] !== undefined) return { forecast: found[0].forecast, bands }
  return {
    forecast: null,
    because: reasons[0] ?? 'the job type has no limit on growth or on the spread of edges',
    bands,
  }
}

/** Records of later scans with the same baseline, up to the newest one, one a scan. */
function comparedWith(newest: GrowthRecord, history: ForecastQuestion['history']): readonly GrowthRecord[] {
  const ref = newest.growth!.baseline
  const until = Date.parse(newest.scannedAt)
  const begun = Date.parse(ref.scannedAt)
  const byScan = new Map<string, GrowthRecord>()
  for (const record of [...history].sort((a, b) => Date.parse(a.inspectedAt) - Date.parse(b.inspectedAt))) {
    if (record.standing?.kind !== 'compared' || record.growth === null) continue
    // A baseline inspected again is another record of the same scan.
    if (record.growth.baseline.id !== ref.id && Date.parse(record.growth.baseline.scannedAt) !== begun) continue
    const at = Date.parse(record.scannedAt)
    if (at > begun && at <= until) byScan.set(record.scan.sha256, record)
  }
  byScan.set(newest.scan.sha256, newest)
  return [...byScan.values()].sort((a, b) => Date.parse(a.scannedAt) - Date.parse(b.scannedAt))
}

function baselineRecord(newest: GrowthRecord, history: ForecastQuestion['history']) {
  return history.find(record => record.id === newest.growth!.baseline.id) ?? null
}

/** What is forecast of one reading: growth since the baseline, how much of it the limit leaves (undefined: no limit), and where the reading began. */
interface Series {
  readonly name: GrowthReadingName | SpreadingReadingName
  readonly from: number
  readonly samples: readonly GrowthSample[]
  readonly start: GrowthStart | null
  readonly limit: number | undefined
}

function growthSeries(
  name: GrowthReadingName,
  records: readonly GrowthRecord[],
  baseline: Pick<Inspection, 'readings'> | null,
  begun: number,
  limits: JobType['limits'],
): Series {
  return {
    name,
    from: 0,
    samples: records.flatMap(record => sampleOf(record, name, begun)),
    start: startOf(name, baseline, limits),
    limit: limits[name]?.max,
  }
}

/** Readings by another version of the method are not growth, and a first reading that is a bound is no beginning. */
function spreadingSeries(
  name: SpreadingReadingName,
  records: readonly GrowthRecord[],
  baseline: Pick<Inspection, 'readings'> | null,
  begun: number,
  limits: JobType['limits'],
): Series {
  const first = baseline?.readings[name]
  const limit = limits[name]?.max
  if (first === undefined || first.bound !== null || limit === undefined || !(first.value > 0))
    return { name, from: 0, samples: [], start: null, limit: undefined }
  const own = standardOf(first)
  const samples = records.flatMap((record): GrowthSample[] => {
    const reading = record.readings[name]
    const days = (Date.parse(record.scannedAt) - begun) / DAY_MS
    if (reading === undefined || reading.bound !== null || reading.method !== first.method || !(days > 0)) return []
    const standard = Math.hypot(standardOf(reading), own)
    return standard > 0 ? [{ days, value: reading.value - first.value, standard }] : []
  })
  const start = own > 0 ? { value: first.value, standard: own } : null
  return { name, from: first.value, samples, start, limit: limit - first.value }
}

function sampleOf(record: GrowthRecord, name: GrowthReadingName, begun: number): GrowthSample[] {
  const reading = record.growth?.[name]
  const days = (Date.parse(record.scannedAt) - begun) / DAY_MS
  if (reading === undefined || reading.bound !== null || !(days > 0)) return []
  const standard = standardOf(reading)
  return standard > 0 ? [{ days, value: reading.value, standard }] : []
}

function standardOf({ standard, expanded }: Reading): number {
  return standard ?? expanded / 2
}

/** What the baseline's ink spread comes to in the growing reading; null where it is not known. */
function startOf(
  name: GrowthReadingName,
  baseline: Pick<Inspection, 'readings'> | null,
  limits: JobType['limits'],
): GrowthStart | null {
  const spread = baseline?.readings.inkSpread
  const solid = baseline?.readings.solidDensity
  if (name === 'densityLoss' || spread === undefined || solid === undefined || spread.bound !== null) return null
  const net = solid.value - (baseline?.readings.baseDensity?.value ?? 0)
  const least = limits.solidDensity?.min ?? LEAST_SOLID_DENSITY
  // A solid lighter than its contours has no such edge.
  if (!(net > 1 && (name === 'edgeGrowth' || net > 0.9 * least))) return null
  const factor = name === 'edgeGrowth' ? edgeShift(net) : contourSpan(net, 0.1 * least, 0.9 * least)
  const value = factor * spread.value
  const standard = factor * standardOf(spread)
  return value > 0 && standard > 0 ? { value, standard } : null
}

function dateOf(begun: number, days: number): string {
  return new Date(begun + days * DAY_MS).toISOString()
}

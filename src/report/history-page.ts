import type { Acceptance } from '../model/acceptance.js'
import type { Forecast, ForecastBand, StrokePictures } from '../model/growth.js'
import type { Inspection } from '../model/inspection.js'
import type { JobType } from '../model/job-type.js'
import type { Picture } from '../model/measured.js'
import type { ReadingName } from '../model/reading.js'
import type { Retirement } from '../model/retirement.js'
import type { UseHistory } from '../model/use.js'
import { formatLimit, formatReading, isReadingName, type Manner, readingKind, shownUnit } from './format-reading.js'
import { formatDay, formatTime } from './format-time.js'
import { type HistoryPoint, historyChart } from './history-chart.js'
import { renderTemplate } from './render-template.js'
import { strokeChart } from './stroke-chart.js'
import { useView } from './use-view.js'
import { verdictShape } from './verdict-shape.js'

/** What the page of one positive is made from. */
export interface HistoryPageInput {
  readonly positive: string
  /** Every inspection, oldest first, one or more, each with the address of its report from the page. */
  readonly inspections: readonly (Inspection & { readonly href: string })[]
  /** What people let through of them, in any order. */
  readonly acceptances: readonly Acceptance[]
  /** When it was taken out of its drawer, oldest first. */
  readonly retirements: readonly Retirement[]
  /** How often it was used; null when nobody ever counted. */
  readonly used: UseHistory | null
  /** Null when the job type is not usable any more: no limits are drawn then. */
  readonly limits: JobType['limits'] | null
  readonly forecast: Forecast | null
  /** Why there is none, as the end of a sentence. */
  readonly because: string | null
  readonly bands: readonly ForecastBand[]
  readonly stroke: StrokePictures | null
  readonly manner: Manner
  readonly now: Date
  readonly software: string
}

/** Charted, in this order, where two inspections or more have them. */
const CHARTED: readonly ReadingName[] = [
  'edgeGrowth',
  'fringeGrowth',
  'densityLoss',
  'riseWidth',
  'inkSpread',
  'solidDensity',
  'baseDensity',
]
const WORDS = { pass: 'pass', fail: 'fail', recheck: 'recheck' } as const

/** The life of one positive on one self-contained page: readings over time with limits and forecast, a stroke before and after, every inspection. */
export function historyPage(input: HistoryPageInput): string {
  const { positive, inspections, acceptances, retirements, forecast, because, stroke, manner, now, software } = input
  const newest = inspections.at(-1)!
  const wordsOf = (one: Inspection) => acceptances.filter(({ inspection }) => inspection === one.id)
  return renderTemplate('history', {
    title: `${positive}: history`,
    positive,
    written: formatTime(now.toISOString()),
    shape: verdictShape(newest.verdict),
    newest: `${WORDS[newest.verdict]} on ${formatDay(newest.scannedAt)}${wordsOf(newest).length === 0 ? '' : ', accepted by a person'}`,
    count: inspections.length === 1 ? '1 inspection' : `${inspections.length} inspections`,
    forecast:
      forecast === null
        ? `No forecast: ${because ?? 'not asked'}.`
        : forecastSays(forecast, newestTaken(inspections).scannedAt),
    cautions: cautionsOf(inspections, now),
    charts: CHARTED.flatMap(name => chartOf(name, input)),
    crops:
      stroke?.crops == null
        ? null
        : {
            before: pictureView(stroke.crops.before),
            after: pictureView(stroke.crops.after),
            width: `${((stroke.crops.before.width * stroke.crops.umPerPixel) / 1000).toFixed(1)}\u00a0mm wide`,
          },
    profiles:
      stroke?.profiles == null
        ? ''
        : strokeChart(stroke.profiles, 'Light across one stroke on the first and the newest scan'),
    rows: [...inspections].reverse().map(one => ({
      href: one.href,
      when: formatTime(one.scannedAt),
      shape: verdictShape(one.verdict),
      word: WORDS[one.verdict],
      growth: cell(one, 'edgeGrowth', manner),
      rise: cell(one, 'riseWidth', manner),
      solid: cell(one, 'solidDensity', manner),
      storage: storageOf(one),
      why: one.findings.find(f => f.verdict === one.verdict && f.verdict !== 'pass')?.why ?? '',
      accepted: wordsOf(one).map(({ by, because, at }) => ({ by, because, on: formatDay(at) })),
    })),
    used: input.used === null ? null : useView(input.used, input.limits, manner),
    taken: retirements.map(({ prints, because, by, at }) => ({
      what: prints === 'older' ? 'The prints from before it was printed anew were' : 'It was',
      on: formatDay(at),
      by: by ?? '',
      because,
    })),
    software,
  })
}

/** The newest scan that takes part in growth: one that stands apart, with a date still to come say, is no scan to count from. */
export function newestTaken(inspections: readonly Inspection[]): Inspection {
  return inspections.findLast(one => one.standing?.kind !== 'apart') ?? inspections.at(-1)!
}

/** One sentence: which limit, when, between when and when; of one that was passed before the newest scan, when it was. */
export function forecastSays({ reaches, on, earliest, latest }: Forecast, newest: string): string {
  const label = readingKind(reaches).label
  if (latest !== null && latest < newest)
    return formatDay(earliest) === formatDay(latest)
      ? `${label} passed its limit about ${formatDay(on)}.`
      : `${label} passed its limit about ${formatDay(on)}; with 80 % between ${formatDay(earliest)} and ${formatDay(latest)}.`
  const until =
    latest === null
      ? `not before ${formatDay(earliest)}, perhaps never`
      : `between ${formatDay(earliest)} and ${formatDay(latest)}`
  return `If it goes on like this, ${label.toLowerCase()} reaches its limit about ${formatDay(on)}; with 80 % ${until}.`
}

function chartOf(name: ReadingName, { inspections, limits, bands, manner }: HistoryPageInput) {
  const { label, unit } = readingKind(name)
  const shown = shownUnit(unit, manner)
  const newest = inspections.at(-1)!
  const points = inspections.flatMap((one): HistoryPoint[] => {
    const reading = one.readings[name]
    if (reading === undefined || (one.scanner === null && unit === 'D')) return []
    return [
      {
        at: new Date(one.scannedAt),
        value: reading.value * shown.factor,
        expanded: reading.expanded * shown.factor,
        bound: reading.bound,
        today: one.id === newest.id,
      },
    ]
  })
  if (points.length < 2 && !(points.length === 1 && name === 'edgeGrowth')) return []
  const limit = limits?.[name]
  const band = bands.find(b => b.reading === name)
  const limitText = [
    limit?.min === undefined ? '' : `at least ${formatLimit(limit.min, unit, manner)}`,
    limit?.max === undefined ? '' : `at most ${formatLimit(limit.max, unit, manner)}`,
  ].filter(text => text !== '')
  const law =
    band === undefined
      ? ''
      : ` Shaded: forecast by ${band.law === 'diffusion' ? 'diffusion' : 'a straight line'}, 80 %.`
  return [
    {
      label,
      chart: historyChart(
        points,
        limit ?? null,
        shown.label,
        `${label} over ${points.length} inspections`,
        (band?.points ?? []).map(p => ({ at: new Date(p.at), value: p.value, low: p.low, high: p.high })),
      ),
      caption: `${label}${limitText.length === 0 ? '' : `; limit: ${limitText.join(', ')}`}.${law}`,
    },
  ]
}

function cautionsOf(inspections: readonly Inspection[], now: Date): string[] {
  const differ = (of: (one: Inspection) => string | undefined) =>
    new Set(inspections.map(of).filter(v => v !== undefined)).size > 1
  const apart = inspections.filter(one => one.standing?.kind === 'apart').length
  return [
    ...(inspections.some(one => Date.parse(one.scannedAt) > now.getTime() + 86_400_000)
      ? ['A scan is dated in the future: set the clock of the scanning computer.']
      : []),
    ...(apart === 0
      ? []
      : [
          `${apart} of these ${apart === 1 ? 'stands' : 'stand'} apart and ${apart === 1 ? 'takes' : 'take'} no part in growth; the report says why.`,
        ]),
    ...(new Set(inspections.map(one => one.scan.sha256)).size < inspections.length
      ? ['One scan was inspected more than once; the forecast counts it once.']
      : []),
    ...(differ(one => (one.scanner === null ? 'none' : `${one.scanner.name} ${one.scanner.calibratedAt}`))
      ? ['Not all of these were taken under the same scanner calibration.']
      : []),
    ...(differ(one => one.readings.riseWidth?.method) || differ(one => one.readings.solidDensity?.method)
      ? ['Not all of these were read by the same version of the method.']
      : []),
  ]
}

function cell(one: Inspection, name: ReadingName, manner: Manner): string {
  const reading = one.readings[name]
  if (reading === undefined || !isReadingName(name)) return '–'
  return formatReading(reading, readingKind(name).decimals, { ...manner, calibrated: one.scanner !== null }).text
}

function storageOf({ told }: Inspection): string {
  return [
    told.temperature === undefined ? '' : `${told.temperature}\u00a0°C`,
    told.humidity === undefined ? '' : `${told.humidity}\u00a0%\u00a0RH`,
    told.note === undefined ? '' : String(told.note),
  ]
    .filter(text => text !== '')
    .join(', ')
}

function pictureView(picture: Picture) {
  return { source: `data:image/png;base64,${picture.pngBase64}`, width: picture.width, height: picture.height }
}

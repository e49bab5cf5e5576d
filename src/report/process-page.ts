import type {
  BoardSignal,
  GrowthRate,
  ProcessEvent,
  ProcessRule,
  ProcessSeries,
  ProcessSignal,
  StockComparison,
} from '../model/process.js'
import { READINGS } from '../model/reading.js'
import type { SiteSettings } from '../model/site.js'
import { formatDay, formatTime } from './format-time.js'
import { processChartPicture, RULE_WORDS } from './process-chart.js'
import { renderTemplate } from './render-template.js'

/** What the page of the process is made from. */
export interface ProcessPageInput {
  readonly site: Pick<SiteSettings, 'shop'>
  readonly series: readonly ProcessSeries[]
  readonly events: readonly ProcessEvent[]
  readonly stocks: readonly StockComparison[]
  readonly now: Date
  /** `burngate x.y.z` */
  readonly software: string
}

/** Charts drawn; of further series a line in a table tells. */
const MOST_CHARTS = 120
/** Fewer films make no chart. */
const FEWEST_DRAWN = 3
/** A signal is open while its pattern reaches one of so many newest films, and nothing has been changed since. */
const OPEN_WITHIN = 5

const RULES: Readonly<Record<ProcessRule, string>> = {
  limit: 'a film beyond the limits',
  side: '9 or more films in a row on one side of the mean',
  twoOfThree: 'two of three films far out on one side',
  range: 'a step between neighbours beyond its limit',
}

const STOCK_UNITS = {
  edgeGrowth: { label: 'Edge growth', unit: 'µm a month', decimals: 2 },
  densityLoss: { label: 'Density loss', unit: 'D a month', decimals: 3 },
} as const

/**
 * How the shop's printers print over time, and how fast films of each stock grow. One self-contained HTML document; everything that came from
 * a file or a person is escaped.
 */
export function processPage({ site, series, events, stocks, now, software }: ProcessPageInput): string {
  const drawn = drawnSeries(series)
  const open = openSignals(series)
  const past = series.flatMap(s => s.signals.filter(signal => !isOpen(s, signal)).map(signal => [s, signal] as const))
  return renderTemplate('process', {
    title: `Process over time – ${site.shop}`,
    shop: site.shop,
    written: formatTime(now.toISOString()),
    empty: series.length === 0,
    calm: series.length > 0 && open.length === 0,
    openCount: open.length,
    open,
    pastCount: past.length,
    past: past
      .sort(([a, s], [b, t]) => Date.parse(b.points[t.since]!.at) - Date.parse(a.points[s.since]!.at))
      .slice(0, 200)
      .map(([s, signal]) => ({ says: signalSays(s, signal) })),
    groups: groupsOf(drawn, series),
    undrawn: series
      .filter(s => !drawn.includes(s))
      .map(s => ({ name: `${groupName(s)}: ${READINGS[s.reading].label}`, films: s.points.length })),
    undrawnCount: series.length - drawn.length,
    stocks: stocks.map(stockView),
    hasEvents: events.length > 0,
    events: [...events].reverse().map(event => ({
      day: formatDay(event.on),
      name: event.name,
      printer: event.printer ?? 'every printer',
      stock: event.stock ?? 'every stock',
    })),
    software,
  })
}

/** Signals that call for a look now, as the board names them, the newest first. */
export function openSignals(series: readonly ProcessSeries[]): readonly BoardSignal[] {
  const drawn = drawnSeries(series)
  return series
    .flatMap(s => s.signals.filter(signal => isOpen(s, signal)).map(signal => ({ s, signal })))
    .sort((a, b) => Date.parse(b.s.points[b.signal.since]!.at) - Date.parse(a.s.points[a.signal.since]!.at))
    .map(({ s, signal }) => ({
      says: signalSays(s, signal),
      anchor: drawn.includes(s) ? anchorOf(series.indexOf(s)) : 'more',
    }))
}

/** One sentence: where, which rule, since when. */
export function signalSays(series: ProcessSeries, { rule, since, until, side }: ProcessSignal): string {
  const first = series.points[since]!
  const day = formatDay(first.at)
  const lasting = until > since ? ` (${until - since + 1} films, to ${formatDay(series.points[until]!.at)})` : ''
  const where = rule === 'range' || side === null ? '' : `, ${side === 'above' ? 'high' : 'low'}`
  return `${READINGS[series.reading].label}, ${groupName(series)}: ${RULES[rule]}${where}, since ${day} with ${first.positive}${lasting}.`
}

function isOpen({ points, segments }: ProcessSeries, { until }: ProcessSignal): boolean {
  return until >= points.length - OPEN_WITHIN && until >= segments.at(-1)!.from
}

/** Those with enough films; of too many those with signals first, then those with most films; in the order of `series`. */
function drawnSeries(series: readonly ProcessSeries[]): readonly ProcessSeries[] {
  const drawable = series.filter(s => s.points.length >= FEWEST_DRAWN)
  if (drawable.length <= MOST_CHARTS) return drawable
  const rank = (s: ProcessSeries) => (s.signals.some(signal => isOpen(s, signal)) ? 1e9 : 0) + s.points.length
  const chosen = new Set([...drawable].sort((a, b) => rank(b) - rank(a)).slice(0, MOST_CHARTS))
  return series.filter(s => chosen.has(s))
}

function groupName({ printer, mode, stock }: Pick<ProcessSeries, 'printer' | 'mode' | 'stock'>): string {
  const told = [printer, mode, stock].filter(name => name !== null)
  return told.length === 0 ? 'printer, mode and stock not told' : told.join(' / ')
}

function anchorOf(index: number): string {
  return `series-${index + 1}`
}

function groupsOf(drawn: readonly ProcessSeries[], all: readonly ProcessSeries[]) {
  const groups = new Map<string, ProcessSeries[]>()
  for (const series of drawn) {
    const name = groupName(series)
    groups.set(name, [...(groups.get(name) ?? []), series])
  }
  // What calls for a look stands first.
  const calls = (members: readonly ProcessSeries[]) =>
    members.some(s => s.signals.some(signal => isOpen(s, signal))) ? 0 : 1
  return [...groups]
    .sort(([, a], [, b]) => calls(a) - calls(b))
    .map(([name, members], i) => ({
      id: `group-${i + 1}`,
      name,
      charts: members.map(series => {
        const signals = series.signals.filter(signal => isOpen(series, signal))
        return {
          id: anchorOf(all.indexOf(series)),
          label: READINGS[series.reading].label,
          open: signals.length > 0,
          words: [...new Set(signals.map(signal => RULE_WORDS[signal.rule]))].join(', '),
          chart: processChartPicture(series, decimalsOf(series), told(series)),
          caption: caption(series),
        }
      }),
    }))
}

function told(series: ProcessSeries): string {
  const { label } = READINGS[series.reading]
  const count = series.points.length
  const signals = series.signals.length
  return `${label} of ${groupName(series)} over ${count} ${count === 1 ? 'film' : 'films'}, with ${signals === 0 ? 'no signal' : signals === 1 ? '1 signal' : `${signals} signals`}.`
}

function caption(series: ProcessSeries): string {
  const segment = series.segments.at(-1)!
  const kind = READINGS[series.reading]
  const unit = kind.unit === 'um' ? 'µm' : kind.unit
  const text = (value: number) => value.toFixed(decimalsOf(series)).replace('-', '\u2212')
  const films = segment.to - segment.from
  const sentences = [
    `${kind.label}, ${unit}: newest ${text(series.points.at(-1)!.value)}.`,
    segment.limits === null
      ? films < 8
        ? `${films} of the 8 films that limits need${segment.reset === null ? '' : ` since ${segment.reset}`}.`
        : 'All films alike: no limits.'
      : `Mean ${text(segment.limits.mean)}, limits ${text(segment.limits.lower)} to ${text(segment.limits.upper)} from the first ${segment.limits.from} of ${films} films${segment.reset === null ? '' : ` since ${segment.reset}`}.`,
  ]
  if (segment.autocorrelation?.tooHigh === true)
    sentences.push(
      `Neighbours go together (lag-1 autocorrelation ${segment.autocorrelation.r1.toFixed(2)}): the limits are too tight, expect more false alarms.`,
    )
  const scanners = [...new Set(series.points.slice(segment.from).map(point => point.scanner))]
  if (scanners.length > 1)
    sentences.push(`Scanned on ${scanners.join(', ')}: a step between them may be the scanners’.`)
  if (series.bounds > 0)
    sentences.push(`${series.bounds} ${series.bounds === 1 ? 'film' : 'films'} read only as a bound: left out.`)
  return sentences.join(' ')
}

function decimalsOf({ reading }: ProcessSeries): number {
  return READINGS[reading].decimals
}

function stockView({ reading, stocks, differences }: StockComparison) {
  const { label, unit, decimals } = STOCK_UNITS[reading]
  return {
    label,
    unit,
    empty: stocks.length === 0,
    stocks: stocks.map(({ stock, films, scans, rate, because }) => ({
      stock,
      films,
      scans,
      rate: rate === null ? `too little: ${because}` : interval(rate, decimals),
    })),
    differences: differences.map(({ first, second, difference, says }) => ({
      says,
      interval: difference === null ? '' : `${first} less ${second}: ${interval(difference, decimals)} ${unit}.`,
    })),
  }
}

/** `0.42 (0.31 to 0.53)` */
export function interval({ value, lower, upper }: GrowthRate, decimals: number): string {
  const text = (number: number) =>
    number
      .toFixed(decimals)
      .replace(/^-(?=0(\.0*)?$)/, '')
      .replace('-', '\u2212')
  return `${text(value)} (${text(lower)} to ${text(upper)})`
}

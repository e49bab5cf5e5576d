import type { Verdict } from '../model/inspection.js'
import type { SiteSettings } from '../model/site.js'
import type { HealthFinding, HealthSeries, ScannerHealth } from '../model/workspace-health.js'
import { formatAge, formatDay, formatTime } from './format-time.js'
import { healthChart } from './health-chart.js'
import { prose } from './prose.js'
import { renderTemplate } from './render-template.js'
import { verdictShape } from './verdict-shape.js'

/** What the page of a check is made from. */
export interface CheckPageInput {
  readonly site: Pick<SiteSettings, 'shop' | 'calibrationMaxAgeDays'>
  readonly findings: readonly HealthFinding[]
  readonly scanners: readonly ScannerHealth[]
  readonly now: Date
  /** `burngate x.y.z` */
  readonly software: string
}

const STATES: Readonly<Record<HealthFinding['state'], { word: string; whole: string; manner: Verdict }>> = {
  ok: { word: 'OK', whole: 'Healthy', manner: 'pass' },
  warn: { word: 'See to it', whole: 'See to it', manner: 'recheck' },
  bad: { word: 'Not working', whole: 'Not working', manner: 'fail' },
}

const ABOUT: Readonly<Record<HealthFinding['about'], string>> = {
  settings: 'Settings',
  jobTypes: 'Job types',
  calibration: 'Calibration',
  database: 'Database',
  inbox: 'Inbox',
  rejected: 'Rejected files',
  disk: 'Room on the disk',
}

/** Worst first; equals in the order they were looked at. */
const URGENCY = { bad: 0, warn: 1, ok: 2 } as const

/**
 * The page of `burngate check`: what needs seeing to, worst first, then how each scanner has aged over its calibrations.
 * One self-contained HTML document; everything that came from a file or a person is escaped.
 */
export function checkPage({ site, findings, scanners, now, software }: CheckPageInput): string {
  const ordered = [...findings].sort((a, b) => URGENCY[a.state] - URGENCY[b.state])
  const state = ordered[0]?.state ?? 'ok'
  const { whole, manner } = STATES[state]
  const open = findings.filter(finding => finding.state !== 'ok').length
  return renderTemplate('check', {
    title: `Check: ${whole.toLowerCase()} – ${site.shop}`,
    shop: site.shop,
    word: whole,
    manner,
    shape: verdictShape(manner),
    checkedAt: formatTime(now.toISOString()),
    counted: `${findings.length} looked at, ${open === 0 ? 'none' : open} to see to`,
    why: open === 0 ? 'Everything a scan needs is there and sound.' : prose(ordered[0]!.says),
    hasNext: open > 0 && ordered[0]!.next !== '',
    next: open > 0 ? prose(ordered[0]!.next) : '',
    findings: ordered.map(finding => ({
      verdict: STATES[finding.state].manner,
      shape: verdictShape(STATES[finding.state].manner),
      word: STATES[finding.state].word,
      about: ABOUT[finding.about],
      says: prose(finding.says),
      hasNext: finding.next !== '',
      next: prose(finding.next),
    })),
    noScanners: scanners.length === 0,
    scanners: scanners.map((scanner, i) => scannerView(scanner, i, site, now)),
    software,
  })
}

function scannerView(health: ScannerHealth, index: number, site: CheckPageInput['site'], now: Date) {
  const { calibrations, series } = health
  const newest = calibrations.at(-1)!
  const drawn = series.filter(property => property.points.length > 1)
  return {
    id: `scanner-${index + 1}`,
    scanner: health.scanner,
    setting: health.setting,
    facts: [
      { name: 'In use since', value: `${formatDay(newest.at)} (${formatAge(newest.at, now)})` },
      { name: 'Good for', value: `${site.calibrationMaxAgeDays} days after it was calibrated` },
      {
        name: 'Calibrations kept',
        value:
          calibrations.length === 1
            ? '1: a second one will show whether the scanner ages'
            : `${calibrations.length}, the first of ${formatDay(calibrations[0]!.at)}`,
      },
      // What has only one value has no line of its own to be drawn.
      ...series
        .filter(property => property.points.length === 1)
        .map(property => ({ name: property.label, value: withUnit(property, property.points[0]!.value) })),
    ],
    steady: calibrations.length > 1 && series.every(property => property.moves.length === 0),
    charts: drawn.map(property => ({
      chart: healthChart(property, told(property)),
      moved: property.moves.length > 0,
      caption: caption(property),
    })),
    hasCharts: drawn.length > 0,
    heads: series.map(property => `${property.label}, ${unitOf(property)}`),
    rows: [...calibrations].reverse().map(calibration => ({
      day: formatDay(calibration.at),
      age: formatAge(calibration.at, now),
      tablet: calibration.tablet,
      scan: calibration.scan,
      values: series.map(property => {
        const point = property.points.find(p => p.at === calibration.at)
        return point === undefined ? 'not measured' : number(property, point.value)
      }),
    })),
  }
}

function told(property: HealthSeries): string {
  const { label, points } = property
  return `${label} over ${points.length} calibrations: ${points.map(p => number(property, p.value)).join(', ')} ${unitOf(property)}.`
}

function caption(property: HealthSeries): string {
  const { label, points, limits } = property
  const [first, last] = [points[0]!, points.at(-1)!]
  const share = first.value === 0 ? null : (100 * (last.value - first.value)) / Math.abs(first.value)
  const since =
    share === null
      ? ''
      : Math.abs(share) < 0.05
        ? ', as at first'
        : `, ${Math.abs(share).toFixed(1)} % ${share > 0 ? 'above' : 'below'} the first`
  const scatter =
    limits === null ? '' : ` Its own scatter: ${number(property, limits.lower)} to ${withUnit(property, limits.upper)}.`
  return `${label}: ${withUnit(property, last.value)}${since}.${scatter}`
}

function unitOf({ unit }: HealthSeries): string {
  return unit === 'um' ? 'µm' : unit
}

function number({ decimals }: HealthSeries, value: number): string {
  return value.toFixed(decimals).replace('-', '\u2212')
}

function withUnit(property: HealthSeries, value: number): string {
  return `${number(property, value)}\u00a0${unitOf(property)}`
}

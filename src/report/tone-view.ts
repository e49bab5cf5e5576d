import { toneCorrection } from '../advise/tone-correction.js'
import type { Inspection } from '../model/inspection.js'
import type { JobType } from '../model/job-type.js'
import type { PrintDirection, StripLine } from '../model/strip.js'
import { toneCurveChart, toneErrorChart } from './tone-chart.js'

/** Every how many percent the page shows a row of the correction; the CSV beside it has all. */
const SHOWN_EVERY = 10

/** Columns of lines: a line that runs along the feed has its width across the head. */
const COLUMNS: readonly {
  readonly polarity: StripLine['polarity']
  readonly runs: PrintDirection
  readonly heading: string
}[] = [
  { polarity: 'positive', runs: 'feed', heading: 'Line, across the head' },
  { polarity: 'positive', runs: 'head', heading: 'Line, along the feed' },
  { polarity: 'negative', runs: 'feed', heading: 'Gap, across the head' },
  { polarity: 'negative', runs: 'head', heading: 'Gap, along the feed' },
]

/** The strip's tints and lines for the report; null without a strip. */
export function toneView(inspection: Inspection, jobType: JobType, csvName: string) {
  const { strip } = inspection
  if (strip === undefined || (strip.tones.length === 0 && strip.lines.length === 0)) return null
  const { tones } = strip
  const correction = toneCorrection(tones, { dots: strip.identity?.tints === 'screened' })
  const limit = jobType.limits.toneValueError ?? null
  return {
    tones:
      tones.length === 0
        ? null
        : {
            curve: toneCurveChart(tones, correction.kind === 'made' ? correction : null),
            errors: toneErrorChart(tones, limit),
            hasCurve: correction.kind === 'made',
            band: bandWords(limit),
            notMade: correction.kind === 'made' ? '' : sentence(correction.because),
            beyond:
              correction.kind === 'made' && correction.beyond.length > 0
                ? `No table brings back ${correction.beyond.map(tint => `${tint} %`).join(', ')}: there the film has filled in or does not print. Change ink, mode or ruling first.`
                : '',
            csv: correction.kind === 'made' ? csvName : '',
            rows:
              correction.kind === 'made'
                ? correction.table
                    .filter(row => row.wanted % SHOWN_EVERY === 0 && row.wanted > 0 && row.wanted < 100)
                    .map(row => ({
                      wanted: `${row.wanted}\u00a0%`,
                      send: `${row.send.toFixed(1)}\u00a0%`,
                      prints: `${row.prints.toFixed(1)}\u00a0%`,
                    }))
                : [],
          },
    lines: strip.lines.length === 0 ? null : linesTable(strip.lines),
  }
}

function bandWords(limit: JobType['limits']['toneValueError'] | null): string {
  if (limit?.min !== undefined && limit.max !== undefined)
    return `The job type allows ${signed(limit.min)} to ${signed(limit.max)}\u00a0%.`
  if (limit?.max !== undefined) return `The job type allows ${signed(limit.max)}\u00a0% at most.`
  if (limit?.min !== undefined) return `The job type allows ${signed(limit.min)}\u00a0% at least.`
  return 'The job type sets no limit on tints.'
}

function signed(value: number): string {
  return value > 0 ? `+${value}` : `${value}`.replace('-', '\u2212')
}

function sentence(words: string): string {
  return `No correction: ${words}.`
}

/** Rows by the width sent, thinnest first; a column for each kind of line that was measured. */
function linesTable(lines: readonly StripLine[]) {
  const columns = COLUMNS.filter(column =>
    lines.some(l => l.polarity === column.polarity && l.direction === column.runs),
  )
  const perColumn = columns.map(column =>
    lines
      .filter(l => l.polarity === column.polarity && l.direction === column.runs)
      .sort((a, b) => a.intendedUm - b.intendedUm),
  )
  const longest = Math.max(...perColumn.map(column => column.length))
  return {
    columns: columns.map(column => column.heading),
    rows: Array.from({ length: longest }, (_, i) => ({
      cells: perColumn.map(column => {
        const line = column[i]
        if (line === undefined) return { text: '', gain: '' }
        const gain = line.measuredUm - line.intendedUm
        return {
          text: `${line.intendedUm.toFixed(0)} → ${line.measuredUm.toFixed(0)}\u00a0±\u00a0${Math.max(1, Math.round(line.expanded))}`,
          gain: `${signed(Math.round(gain))}`,
        }
      }),
    })),
  }
}

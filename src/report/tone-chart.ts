import * as Plot from '@observablehq/plot'
import type Handlebars from 'handlebars'
import type { ToneCorrection } from '../advise/tone-correction.js'
import type { Limit } from '../model/job-type.js'
import type { StripTone } from '../model/strip.js'
import { CHART_WIDTH, drawChart } from './draw-chart.js'

const MARGIN = { left: 44, right: 14, top: 30, bottom: 38 }

/** Both axes of a chart of tints, percent of ink. */
const TINTS = { domain: [0, 100], ticks: 5 } as const

/** What is printed for what is sent: dots with U, the curve through them, straight dashed, and the curve to send in small dashes. */
export function toneCurveChart(tones: readonly StripTone[], correction: ToneCorrection | null): Handlebars.SafeString {
  const side = CHART_WIDTH - MARGIN.left - MARGIN.right
  return drawChart(
    `Tints as printed against tints as sent: ${tones.map(t => `${t.intended} percent prints ${t.measured.toFixed(1)}`).join(', ')}.`,
    {
      height: side + MARGIN.top + MARGIN.bottom,
      marginLeft: MARGIN.left,
      marginRight: MARGIN.right,
      marginTop: MARGIN.top,
      marginBottom: MARGIN.bottom,
      x: { ...TINTS, label: 'sent, %', labelAnchor: 'center', labelArrow: 'none' },
      y: { ...TINTS, label: 'printed, %', labelArrow: 'none' },
      marks: [
        Plot.line(
          [
            [0, 0],
            [100, 100],
          ],
          { strokeWidth: 1, strokeOpacity: 0.6 },
        ),
        ...(correction === null
          ? []
          : [
              Plot.line(correction.table, { x: 'wanted', y: 'prints', strokeWidth: 2 }),
              Plot.line(correction.table, { x: 'wanted', y: 'send', strokeWidth: 2, strokeDasharray: '5 4' }),
            ]),
        Plot.ruleX(tones, {
          x: 'intended',
          y1: (t: StripTone) => Math.max(0, t.measured - t.expanded),
          y2: (t: StripTone) => Math.min(100, t.measured + t.expanded),
          strokeWidth: 2,
        }),
        Plot.dot(tones, {
          x: 'intended',
          y: (t: StripTone) => Math.min(100, Math.max(0, t.measured)),
          r: 3.5,
          fill: 'currentColor',
          stroke: 'white',
        }),
      ],
    },
  )
}

/** Least height of the scale of errors, percent to either side: noise shall not look like a fault. */
const LEAST_REACH = 4

/** How far each tint is off, with U, in the band the job type allows; what it does not allow is hatched. */
export function toneErrorChart(
  tones: readonly StripTone[],
  limit: Pick<Limit, 'min' | 'max'> | null,
): Handlebars.SafeString {
  const errors = tones.map(t => ({ at: t.intended, error: t.measured - t.intended, expanded: t.expanded }))
  const ends = [
    ...errors.flatMap(e => [e.error - e.expanded, e.error + e.expanded]),
    ...(limit?.min === undefined ? [] : [limit.min]),
    ...(limit?.max === undefined ? [] : [limit.max]),
  ]
  const low = Math.min(-LEAST_REACH, ...ends) * 1.15
  const high = Math.max(LEAST_REACH, ...ends) * 1.15
  const forbidden = [
    ...(limit?.max === undefined ? [] : [{ from: limit.max, to: high }]),
    ...(limit?.min === undefined ? [] : [{ from: low, to: limit.min }]),
  ]
  return drawChart(
    `How far tints are off: ${errors.map(e => `${e.at} percent by ${e.error.toFixed(1)}`).join(', ')}.`,
    {
      height: 240,
      marginLeft: MARGIN.left,
      marginRight: MARGIN.right,
      marginTop: MARGIN.top,
      marginBottom: MARGIN.bottom,
      x: { ...TINTS, label: 'tint, %', labelAnchor: 'center', labelArrow: 'none' },
      y: { domain: [low, high], label: 'printed less wanted, %', labelArrow: 'none', ticks: 6 },
      marks: [
        Plot.rect(forbidden, { x1: 0, x2: 100, y1: 'from', y2: 'to', fill: 'url(#not-allowed)' }),
        Plot.ruleY([0], { strokeWidth: 1 }),
        Plot.ruleY(
          [limit?.min, limit?.max].filter(at => at !== undefined),
          { strokeWidth: 3 },
        ),
        Plot.line(errors, { x: 'at', y: 'error', strokeWidth: 1.5 }),
        Plot.ruleX(errors, {
          x: 'at',
          y1: (e: { error: number; expanded: number }) => e.error - e.expanded,
          y2: (e: { error: number; expanded: number }) => e.error + e.expanded,
          strokeWidth: 2,
        }),
        Plot.dot(errors, { x: 'at', y: 'error', r: 3.5, fill: 'currentColor', stroke: 'white' }),
      ],
    },
  )
}

import * as Plot from '@observablehq/plot'
import type Handlebars from 'handlebars'
import type { Limit } from '../model/job-type.js'
import { drawChart } from './draw-chart.js'

/** One reading of one inspection, in the unit shown. */
export interface HistoryPoint {
  readonly at: Date
  readonly value: number
  readonly expanded: number
  readonly bound: 'atLeast' | 'atMost' | null
  readonly today: boolean
}

/** A forecast, in the unit shown. */
export interface BandPoint {
  readonly at: Date
  readonly value: number
  readonly low: number
  readonly high: number
}

/** One reading of one positive over time, with U as bars, today's filled, and the limits of today's job type. */
export function historyChart(
  points: readonly HistoryPoint[],
  limit: Pick<Limit, 'min' | 'max'> | null,
  unit: string,
  told: string,
  band: readonly BandPoint[] = [],
): Handlebars.SafeString {
  const limits = [limit?.min, limit?.max].filter(value => value !== undefined)
  const shown = [...points.flatMap(p => [p.value - p.expanded, p.value + p.expanded]), ...limits]
  const least = Math.min(...shown)
  const most = Math.max(...shown)
  const room = Math.max((most - least) / 8, Math.abs(most) / 50, 1e-3)
  const inside = (value: number) => Math.min(most + room, Math.max(least - room, value))
  // The forecast ends where it leaves the picture: drawn along the rim it would look like a stand-still.
  const drawn = band
    .filter(p => p.value === inside(p.value))
    .map(p => ({ ...p, low: inside(p.low), high: inside(p.high) }))
  const measured = points.filter(p => p.bound === null)
  const bounds = points.filter(p => p.bound !== null)
  return drawChart(told, {
    height: 170,
    marginLeft: 48,
    marginRight: 22,
    marginTop: 22,
    marginBottom: 30,
    x: { type: 'utc', label: null, ticks: 4, inset: 14 },
    y: { domain: [least - room, most + room], label: unit, labelArrow: 'none', ticks: 4 },
    marks: [
      ...(limit?.min !== undefined
        ? [Plot.rect([limit.min], { y1: least - room, y2: limit.min, fill: 'url(#not-allowed)' })]
        : []),
      ...(limit?.max !== undefined
        ? [Plot.rect([limit.max], { y1: limit.max, y2: most + room, fill: 'url(#not-allowed)' })]
        : []),
      Plot.areaY(drawn, { x: 'at', y1: 'low', y2: 'high', fill: '#6b655a', fillOpacity: 0.28 }),
      Plot.line(drawn, { x: 'at', y: 'value', strokeWidth: 1.75 }),
      Plot.ruleY(limits, { strokeWidth: 3 }),
      Plot.line(points, { x: 'at', y: 'value', strokeWidth: 1, strokeDasharray: '3 3' }),
      Plot.ruleX(measured, {
        x: 'at',
        y1: (p: HistoryPoint) => p.value - p.expanded,
        y2: (p: HistoryPoint) => p.value + p.expanded,
        strokeWidth: 2,
      }),
      Plot.dot(points, {
        x: 'at',
        y: 'value',
        r: (p: HistoryPoint) => (p.today ? 6 : 4.5),
        fill: (p: HistoryPoint) => (p.today ? 'currentColor' : 'white'),
        stroke: 'currentColor',
        strokeWidth: 2,
      }),
      Plot.text(bounds, {
        x: 'at',
        y: 'value',
        text: (p: HistoryPoint) => (p.bound === 'atLeast' ? 'or more ↑' : 'or less ↓'),
        dy: -13,
        fontSize: 11,
      }),
    ],
    r: { type: 'identity' },
    color: { type: 'identity' },
  })
}

import * as Plot from '@observablehq/plot'
import type Handlebars from 'handlebars'
import type { HealthPoint, HealthSeries } from '../model/workspace-health.js'
import { drawChart } from './draw-chart.js'

/** The share that counts as a move, as in the rule. */
const SHARE = 0.05

/**
 * One property of a scanner over its calibrations, the newest filled, with U (k = 2) as bars where it is known. Hatched:
 * more than 5 % from the first value. Dashed: the limits of its own scatter, once it is known.
 * @param series two points or more
 * @param told what the chart shows, in words
 */
export function healthChart({ label, points, limits, unit }: HealthSeries, told: string): Handlebars.SafeString {
  const first = points[0]!.value
  const [low, high] = [first - SHARE * Math.abs(first), first + SHARE * Math.abs(first)]
  const reach = (point: HealthPoint) => 2 * (point.standard ?? 0)
  const shown = [
    ...points.flatMap(point => [point.value - reach(point), point.value + reach(point)]),
    ...(limits === null ? [] : [limits.lower, limits.upper]),
    low,
    high,
  ]
  const room = 0.12 * Math.max(Math.max(...shown) - Math.min(...shown), 1e-6)
  const [least, most] = [Math.min(...shown) - room, Math.max(...shown) + room]
  const dots = points.map((point, i) => ({ ...point, at: new Date(point.at), newest: i === points.length - 1 }))
  const known = dots.filter(point => point.standard !== null)
  return drawChart(told, {
    height: 180,
    marginLeft: 56,
    marginRight: 22,
    marginTop: 24,
    marginBottom: 30,
    x: { type: 'utc', label: null, ticks: 4, inset: 14 },
    y: {
      domain: [least, most],
      label: `${label}, ${unit === 'um' ? 'µm' : unit}`,
      labelArrow: 'none',
      ticks: 4,
    },
    marks: [
      Plot.rect([0], { y1: least, y2: low, fill: 'url(#not-allowed)', fillOpacity: 0.45 }),
      Plot.rect([0], { y1: high, y2: most, fill: 'url(#not-allowed)', fillOpacity: 0.45 }),
      Plot.ruleY(limits === null ? [] : [limits.lower, limits.upper], { strokeWidth: 2.5, strokeDasharray: '7 4' }),
      Plot.ruleX(known, {
        x: 'at',
        y1: point => point.value - reach(point),
        y2: point => point.value + reach(point),
        stroke: 'white',
        strokeWidth: 5,
      }),
      Plot.line(dots, { x: 'at', y: 'value', strokeWidth: 1.25 }),
      Plot.ruleX(known, {
        x: 'at',
        y1: point => point.value - reach(point),
        y2: point => point.value + reach(point),
        strokeWidth: 2,
      }),
      Plot.dot(dots, {
        x: 'at',
        y: 'value',
        r: (point: { newest: boolean }) => (point.newest ? 6 : 4),
        fill: (point: { newest: boolean }) => (point.newest ? 'currentColor' : 'white'),
        stroke: 'currentColor',
        strokeWidth: 2,
      }),
    ],
    r: { type: 'identity' },
    color: { type: 'identity' },
  })
}

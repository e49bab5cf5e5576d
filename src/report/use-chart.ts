import * as Plot from '@observablehq/plot'
import type Handlebars from 'handlebars'
import type { Limit } from '../model/job-type.js'
import { drawChart } from './draw-chart.js'

/** One reading of one scan, in the unit shown. */
export interface UsePoint {
  readonly uses: number
  readonly value: number
  readonly expanded: number
  readonly today: boolean
}

/**
 * A reading against how often the film had been used, with U as bars and today's limit.
 * @param rate a use, where a line is justified; null: none is drawn
 */
export function useChart(
  points: readonly UsePoint[],
  limit: Pick<Limit, 'min' | 'max'> | null,
  rate: number | null,
  unit: string,
  told: string,
): Handlebars.SafeString {
  const limits = [limit?.min, limit?.max].filter(value => value !== undefined)
  const most = Math.max(...points.map(point => point.uses))
  const line = rate === null ? [] : [0, most].map(uses => ({ uses, value: rate * uses }))
  const shown = [
    ...points.flatMap(p => [p.value - p.expanded, p.value + p.expanded]),
    ...limits,
    ...line.map(p => p.value),
    0,
  ]
  const low = Math.min(...shown)
  const high = Math.max(...shown)
  const room = Math.max((high - low) / 8, 1e-3)
  return drawChart(told, {
    height: 170,
    marginLeft: 48,
    marginRight: 22,
    marginTop: 22,
    marginBottom: 36,
    x: {
      domain: [0, Math.max(1, most)],
      label: 'uses',
      labelAnchor: 'center',
      labelArrow: 'none',
      ticks: 5,
      inset: 14,
    },
    y: { domain: [low - room, high + room], label: unit, labelArrow: 'none', ticks: 4 },
    marks: [
      ...(limit?.max === undefined
        ? []
        : [Plot.rect([limit.max], { y1: limit.max, y2: high + room, fill: 'url(#not-allowed)' })]),
      Plot.ruleY(limits, { strokeWidth: 3 }),
      Plot.line(line, { x: 'uses', y: 'value', strokeWidth: 1.75 }),
      Plot.ruleX(points, {
        x: 'uses',
        y1: (p: UsePoint) => p.value - p.expanded,
        y2: (p: UsePoint) => p.value + p.expanded,
        strokeWidth: 2,
      }),
      Plot.dot(points, {
        x: 'uses',
        y: 'value',
        r: (p: UsePoint) => (p.today ? 6 : 4.5),
        fill: (p: UsePoint) => (p.today ? 'currentColor' : 'white'),
        stroke: 'currentColor',
        strokeWidth: 2,
      }),
    ],
    r: { type: 'identity' },
    color: { type: 'identity' },
  })
}

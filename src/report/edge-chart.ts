import * as Plot from '@observablehq/plot'
import type Handlebars from 'handlebars'
import type { EdgeProfile } from '../model/measured.js'
import { drawChart } from './draw-chart.js'

/** How far beyond the 10 and 90 % marks the chart reaches, in rise widths. */
const REACH = 1.6

/** Share of the change, in percent of light, at which the marks stand. */
const TEN = 0.1
const NINETY = 0.9

/**
 * One edge: the light across it as the scanner saw it, the fitted ink model as the scanner would see it,
 * both plateaus, and where 10 and 90 % of the change are passed.
 */
export function edgeChart(edge: EdgeProfile, told: string): Handlebars.SafeString {
  const rise = edge.at90 - edge.at10
  // A profile whose marks do not part is shown whole.
  const from = rise > 0 ? edge.at10 - REACH * rise : Math.min(...edge.distanceUm)
  const to = rise > 0 ? edge.at90 + REACH * rise : Math.max(...edge.distanceUm)
  const seen: { x: number; y: number }[] = []
  const model: { x: number; y: number }[] = []
  for (let i = 0; i < edge.distanceUm.length; i++) {
    const x = edge.distanceUm[i]!
    if (!(x >= from && x <= to)) continue
    seen.push({ x, y: 100 * edge.transmittance[i]! })
    const fitted = edge.model?.[i]
    if (fitted !== undefined) model.push({ x, y: 100 * fitted })
  }
  const clear = 100 * edge.clear
  const dark = 100 * edge.dark
  const change = clear - dark
  const marks = [
    { x: edge.at10, y: dark + TEN * change, text: '10 %', anchor: 'end' as const },
    { x: edge.at90, y: dark + NINETY * change, text: '90 %', anchor: 'start' as const },
  ]
  return drawChart(told, {
    height: 250,
    marginLeft: 44,
    marginRight: 14,
    marginTop: 24,
    marginBottom: 40,
    x: {
      domain: [from, to],
      label: 'distance across the edge, µm (ink left, clear right)',
      labelAnchor: 'center',
      labelArrow: 'none',
      ticks: 6,
    },
    y: { domain: [Math.min(0, dark), 1.08 * clear], label: 'light through, %', labelArrow: 'none', ticks: 5 },
    marks: [
      Plot.ruleY([clear, dark], { strokeDasharray: '1 4', strokeLinecap: 'round', strokeWidth: 2 }),
      Plot.text([`clear ${clear.toFixed(1)} %`], { x: from, y: clear, dx: 6, dy: -9, textAnchor: 'start' }),
      Plot.text([`solid ${dark.toPrecision(2)} %`], { x: to, y: dark, dx: -2, dy: -9, textAnchor: 'end' }),
      ...(model.length > 0
        ? [Plot.line(model, { x: 'x', y: 'y', strokeWidth: 1.75 })]
        : [Plot.line(seen, { x: 'x', y: 'y', strokeWidth: 1, strokeDasharray: '3 3' })]),
      Plot.dot(thinned(seen), { x: 'x', y: 'y', r: 2.4, stroke: 'currentColor', strokeWidth: 1.2, fill: 'white' }),
      Plot.ruleX(marks, { x: 'x', y1: dark, y2: 'y', strokeWidth: 1 }),
      Plot.dot(marks, { x: 'x', y: 'y', r: 5, fill: 'white', stroke: 'currentColor', strokeWidth: 2.5 }),
      ...marks.map(mark =>
        Plot.text([mark], {
          x: 'x',
          y: 'y',
          text: 'text',
          textAnchor: mark.anchor,
          dx: mark.anchor === 'end' ? -10 : 10,
          dy: mark.anchor === 'end' ? -6 : 8,
          fontWeight: 700,
        }),
      ),
    ],
  })
}

/** Dots nearer to each other than this would run together. */
const MOST_DOTS = 64

function thinned(points: readonly { x: number; y: number }[]): { x: number; y: number }[] {
  const every = Math.ceil(points.length / MOST_DOTS)
  return points.filter((_, i) => i % every === 0)
}

import * as Plot from '@observablehq/plot'
import type Handlebars from 'handlebars'
import type { StrokeProfiles } from '../model/growth.js'
import { drawChart } from './draw-chart.js'

/** Light across one stroke, before (dashed) and after (solid), of the film itself by the fitted model, laid over each other. */
export function strokeChart({ before, after }: StrokeProfiles, told: string): Handlebars.SafeString {
  const points = ({ distanceUm, film }: StrokeProfiles['before']) =>
    distanceUm.map((x, i) => ({ x, y: 100 * film[i]! }))
  return drawChart(told, {
    height: 230,
    marginLeft: 44,
    marginTop: 24,
    marginBottom: 40,
    x: { label: 'distance from the middle, µm', labelAnchor: 'center', labelArrow: 'none', ticks: 6 },
    y: { label: 'light through, %', labelArrow: 'none', ticks: 5 },
    marks: [
      Plot.ruleY([50], { strokeDasharray: '1 4', strokeLinecap: 'round', strokeWidth: 1.5 }),
      Plot.line(points(before), { x: 'x', y: 'y', strokeWidth: 1.75, strokeDasharray: '5 4' }),
      Plot.line(points(after), { x: 'x', y: 'y', strokeWidth: 2.25 }),
    ],
  })
}

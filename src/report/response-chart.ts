import * as Plot from '@observablehq/plot'
import type Handlebars from 'handlebars'
import type { Calibration } from '../model/calibration.js'
import { drawChart } from './draw-chart.js'

/** The scanner's response as a thumbnail: the tablet's densities against the codes they gave, and how deep it sees. */
export function responseChart(calibration: Calibration): Handlebars.SafeString {
  const steps = calibration.steps.map(step => ({
    code: Math.max(1, step.code),
    density: step.density,
    trusted: step.trusted,
  }))
  const knots = calibration.response.knots.map(knot => ({ code: Math.max(1, knot.code), density: knot.density }))
  const codes = [...steps, ...knots].map(point => point.code)
  const densest = Math.max(calibration.deepest, ...steps.map(step => step.density))
  return drawChart(
    `Density of each tablet step against the code the scanner gave it; the scanner tells densities apart down to ${(Math.floor(calibration.deepest * 100 + 1e-9) / 100).toFixed(2)} D.`,
    {
      height: 210,
      marginLeft: 40,
      marginRight: 16,
      marginTop: 22,
      marginBottom: 38,
      x: {
        type: 'log',
        domain: [0.8 * Math.min(...codes), 65_535],
        label: 'code',
        labelAnchor: 'center',
        labelArrow: 'none',
        ticks: 4,
        tickFormat: (code: number) => `${code}`,
      },
      y: { domain: [0, densest * 1.06], label: 'density, D', labelArrow: 'none', ticks: 5 },
      marks: [
        Plot.rect([0], { y1: calibration.deepest, y2: densest * 1.06, fill: 'url(#not-allowed)' }),
        Plot.ruleY([calibration.deepest], { strokeWidth: 2.5 }),
        Plot.line(knots, { x: 'code', y: 'density', strokeWidth: 2 }),
        Plot.dot(steps, {
          x: 'code',
          y: 'density',
          r: 3.5,
          fill: (step: { trusted: boolean }) => (step.trusted ? 'currentColor' : 'white'),
          stroke: 'currentColor',
          strokeWidth: 1.5,
        }),
      ],
      color: { type: 'identity' },
    },
  )
}

import * as Plot from '@observablehq/plot'
import type Handlebars from 'handlebars'
import type { RippleProfile } from '../model/measured.js'
import { drawChart } from './draw-chart.js'

/** The axis reaches this far above the highest point. */
const HEADROOM = 1.25
/** Less ripple than this fills no axis, %. */
const LEAST_TOP = 0.1

/** The spectrum of the solids' ripple: amplitude by frequency, the noise below it, and its peak with its pitch. */
export function spectrumChart(ripple: RippleProfile, told: string): Handlebars.SafeString {
  const points = ripple.frequency.map((x, i) => ({ x, y: ripple.amplitude[i]!, noise: ripple.noise[i]! }))
  const slow = 1 / ripple.longestMm
  const shown = points.filter(point => point.x >= slow)
  const top = HEADROOM * Math.max(LEAST_TOP, ...shown.map(point => point.y))
  const most = points.at(-1)?.x ?? 1
  const at = ripple.pitchMm === null ? null : 1 / ripple.pitchMm
  const peak =
    at === null
      ? []
      : [shown.reduce((best, point) => (Math.abs(point.x - at) < Math.abs(best.x - at) ? point : best), shown[0]!)]
  return drawChart(told, {
    height: 230,
    marginLeft: 44,
    marginRight: 14,
    marginTop: 24,
    marginBottom: 40,
    x: { domain: [0, most], label: 'bands in a millimetre', labelAnchor: 'center', labelArrow: 'none', ticks: 6 },
    y: { domain: [0, top], label: 'half of peak to peak, % of the ink', labelArrow: 'none', ticks: 5 },
    marks: [
      Plot.rectX([{ from: 0, to: slow }], { x1: 'from', x2: 'to', y1: 0, y2: top, fillOpacity: 0.08 }),
      Plot.areaY(shown, { x: 'x', y: 'noise', fillOpacity: 0.25 }),
      Plot.line(shown, { x: 'x', y: 'y', strokeWidth: 1.5 }),
      Plot.ruleY([0]),
      Plot.dot(peak, { x: 'x', y: 'y', r: 5, fill: 'white', stroke: 'currentColor', strokeWidth: 2.5 }),
      Plot.text(peak, {
        x: 'x',
        y: 'y',
        text: () => `every ${(ripple.pitchMm ?? 0).toPrecision(3)} mm`,
        textAnchor: at !== null && at > most / 2 ? 'end' : 'start',
        dx: at !== null && at > most / 2 ? -9 : 9,
        dy: -9,
        fontWeight: 700,
      }),
    ],
  })
}

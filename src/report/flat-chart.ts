import * as Plot from '@observablehq/plot'
import type Handlebars from 'handlebars'
import type { FlatField } from '../model/calibration.js'
import { CHART_WIDTH, drawChart } from './draw-chart.js'

/** Numbers in areas narrower than this would run into each other, px. */
const NUMBER_ROOM = 26
const MARGIN = { left: 44, right: 14, top: 24, bottom: 38 }

/** Light over the glass by area: a number in each, on a grey that is darker where less light comes. */
export function glassChart(flat: FlatField): Handlebars.SafeString {
  const { areas, uniformity } = flat
  const columns = lines(areas.map(area => area.across))
  const rows = lines(areas.map(area => area.along))
  const [wide, high] = [flat.widthMm / columns.length, flat.heightMm / rows.length]
  const inner = CHART_WIDTH - MARGIN.left - MARGIN.right
  const height = Math.min(520, Math.max(160, (inner * flat.heightMm) / flat.widthMm)) + MARGIN.top + MARGIN.bottom
  // Never darker than a number can be read on, and an even glass stays light.
  const span = Math.max(4, uniformity.greatest - uniformity.least)
  const shade = (light: number) => 55 + 45 * Math.max(0, Math.min(1, 1 + (light - uniformity.greatest) / span))
  const cells = areas.map(area => {
    const column = Math.min(columns.length - 1, Math.floor(area.across / wide))
    const row = Math.min(rows.length - 1, Math.floor(area.along / high))
    return {
      x1: column * wide,
      x2: (column + 1) * wide,
      y1: row * high,
      y2: (row + 1) * high,
      x: (column + 0.5) * wide,
      y: (row + 0.5) * high,
      fill: `hsl(0 0% ${shade(area.light).toFixed(0)}%)`,
      text: percent(area.light),
    }
  })
  return drawChart(
    `Light over the glass against its mean: from ${percent(uniformity.least)} to ${percent(uniformity.greatest)} percent.`,
    {
      height,
      marginLeft: MARGIN.left,
      marginRight: MARGIN.right,
      marginTop: MARGIN.top,
      marginBottom: MARGIN.bottom,
      x: { domain: [0, flat.widthMm], label: 'across, mm', labelAnchor: 'center', labelArrow: 'none', ticks: 5 },
      y: { domain: [flat.heightMm, 0], label: 'along, mm', labelArrow: 'none', ticks: 5 },
      color: { type: 'identity' },
      marks: [
        Plot.rect(cells, { x1: 'x1', x2: 'x2', y1: 'y1', y2: 'y2', fill: 'fill' }),
        ...(inner / columns.length >= NUMBER_ROOM
          ? [Plot.text(cells, { x: 'x', y: 'y', text: 'text', fontSize: 10, fill: '#111' })]
          : []),
      ],
    },
  )
}

/** Light along a row: every area's, and the map in the middle of the glass. */
export function acrossChart(flat: FlatField): Handlebars.SafeString {
  const middle = flat.areas.reduce((sum, area) => sum + area.along, 0) / flat.areas.length
  const along = (2 * middle) / flat.heightMm - 1
  const fall = (x: number) =>
    flat.terms.reduce(
      (sum, term) => sum + term.density * ((2 * x) / flat.widthMm - 1) ** term.across * along ** term.along,
      0,
    )
  const xs = Array.from({ length: 61 }, (_, i) => flat.tested.left + ((flat.tested.right - flat.tested.left) * i) / 60)
  const falls = xs.map(fall)
  // The map is told from the tablet's light, areas from the mean of the glass: shown on the areas' footing.
  const near = flat.areas.filter(area => Math.abs(area.along - middle) <= flat.heightMm / 4)
  const footing =
    near.reduce((sum, area) => sum + area.light + 100 * (fall(area.across) * Math.LN10), 0) / Math.max(1, near.length)
  const line = xs.map((x, i) => ({ x, light: footing - 100 * falls[i]! * Math.LN10 }))
  const values = [...line.map(point => point.light), ...flat.areas.map(area => area.light)]
  const reach = Math.max(0.5, ...values.map(Math.abs)) * 1.1
  return drawChart(
    `Light across the glass: the map falls by ${(Math.max(...falls) - Math.min(...falls)).toFixed(3)} D.`,
    {
      height: 230,
      marginLeft: MARGIN.left,
      marginRight: MARGIN.right,
      marginTop: MARGIN.top,
      marginBottom: MARGIN.bottom,
      x: { domain: [0, flat.widthMm], label: 'across, mm', labelAnchor: 'center', labelArrow: 'none', ticks: 5 },
      y: { domain: [-reach, reach], label: 'light against the mean, %', labelArrow: 'none', ticks: 5 },
      marks: [
        Plot.ruleY([0]),
        Plot.line(line, { x: 'x', y: 'light', strokeWidth: 2 }),
        Plot.dot(flat.areas, { x: 'across', y: 'light', r: 2.5, fill: 'currentColor' }),
      ],
    },
  )
}

function lines(values: readonly number[]): number[] {
  return [...new Set(values)].sort((a, b) => a - b)
}

function percent(value: number): string {
  const text = Math.abs(value).toFixed(1)
  return Number(text) === 0 ? '0.0' : `${value < 0 ? '−' : '+'}${text}`
}

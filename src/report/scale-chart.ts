import * as Plot from '@observablehq/plot'
import type Handlebars from 'handlebars'
import type { Limit } from '../model/job-type.js'
import { CHART_WIDTH, drawChart } from './draw-chart.js'

/** One reading on a scale, in the unit shown. */
export interface ScaleChartInput {
  readonly told: string
  readonly value: number
  readonly expanded: number
  readonly bound: 'atLeast' | 'atMost' | null
  readonly limit: Pick<Limit, 'min' | 'max' | 'aim'> | null
  /** Words of the limit and the aim, already formatted. */
  readonly minText: string
  readonly maxText: string
  readonly aimText: string
}

/** Rows of the chart, px from its top. */
const LABEL_ROW = 11
const SECOND_LABEL_ROW = 26
const BAND_TOP = 34
const BAND_MIDDLE = 48
const BAND_BOTTOM = 62
const HEIGHT = 84
const MARGIN = 8

/** Labels nearer to each other than this take two rows, px. */
const LABEL_ROOM = 118

/**
 * A reading's value and uncertainty interval against its limits: what is not allowed is hatched, a limit is a thick
 * line, the aim a dashed one, a bound an arrow to the side where the truth may lie.
 */
export function scaleChart(input: ScaleChartInput): Handlebars.SafeString {
  const { value, expanded, bound, limit } = input
  const [low, high] = scaleEnds(input)
  const toPx = (x: number) => MARGIN + ((x - low) / (high - low)) * (CHART_WIDTH - 2 * MARGIN)
  const forbidden: { from: number; to: number }[] = []
  const labels: { at: number; text: string; strong: boolean }[] = []
  if (limit?.min !== undefined) {
    forbidden.push({ from: low, to: limit.min })
    labels.push({ at: limit.min, text: input.minText, strong: true })
  }
  if (limit?.max !== undefined) {
    forbidden.push({ from: limit.max, to: high })
    labels.push({ at: limit.max, text: input.maxText, strong: true })
  }
  if (limit?.aim !== undefined) labels.push({ at: limit.aim, text: input.aimText, strong: false })
  const placed = labels.map((label, index) => {
    const px = toPx(label.at)
    const crowded = labels.slice(0, index).some(other => Math.abs(toPx(other.at) - px) < LABEL_ROOM)
    const anchor: 'start' | 'middle' | 'end' = px < 60 ? 'start' : px > CHART_WIDTH - 60 ? 'end' : 'middle'
    const from = anchor === 'start' ? low : anchor === 'end' ? high : label.at
    return { ...label, row: crowded ? SECOND_LABEL_ROW : LABEL_ROW, anchor, from }
  })
  const interval = { from: Math.max(low, value - expanded), to: value + expanded }
  const arrow = { from: value, to: bound === 'atMost' ? low : high }
  return drawChart(input.told, {
    height: HEIGHT,
    marginLeft: MARGIN,
    marginRight: MARGIN,
    marginTop: 0,
    marginBottom: HEIGHT - BAND_BOTTOM,
    x: { domain: [low, high], label: null, ticks: 5, tickSize: 4 },
    y: { domain: [0, BAND_BOTTOM], range: [0, BAND_BOTTOM], axis: null },
    marks: [
      Plot.rect(forbidden, { x1: 'from', x2: 'to', y1: BAND_TOP, y2: BAND_BOTTOM, fill: 'url(#not-allowed)' }),
      Plot.rect([{ from: low, to: high }], {
        x1: 'from',
        x2: 'to',
        y1: BAND_TOP,
        y2: BAND_BOTTOM,
        fill: 'none',
        stroke: 'currentColor',
        strokeWidth: 1,
      }),
      ...placed.map(label =>
        Plot.text([label], {
          x: 'from',
          y: label.row - 4,
          text: 'text',
          textAnchor: label.anchor,
          fontWeight: label.strong ? 700 : 400,
          fontSize: 12,
        }),
      ),
      ...(bound === null
        ? [Plot.ruleY([interval], { x1: 'from', x2: 'to', y: BAND_MIDDLE, stroke: 'white', strokeWidth: 13 })]
        : [Plot.ruleY([arrow], { x1: 'from', x2: 'to', y: BAND_MIDDLE, stroke: 'white', strokeWidth: 13 })]),
      Plot.ruleX(
        placed.filter(label => label.strong),
        { x: 'at', y1: (label: { row: number }) => label.row + 3, y2: BAND_BOTTOM, strokeWidth: 4 },
      ),
      Plot.ruleX(
        placed.filter(label => !label.strong),
        {
          x: 'at',
          y1: (label: { row: number }) => label.row + 3,
          y2: BAND_BOTTOM,
          strokeWidth: 2,
          strokeDasharray: '4 3',
        },
      ),
      ...(bound === null
        ? [Plot.ruleY([interval], { x1: 'from', x2: 'to', y: BAND_MIDDLE, strokeWidth: 7, strokeOpacity: 0.5 })]
        : [
            Plot.arrow([arrow], {
              x1: 'from',
              x2: 'to',
              y1: BAND_MIDDLE,
              y2: BAND_MIDDLE,
              strokeWidth: 4,
              headLength: 4,
              headAngle: 70,
            }),
          ]),
      Plot.dot([value], { x: value, y: BAND_MIDDLE, r: 5, fill: 'currentColor', stroke: 'white', strokeWidth: 1.5 }),
      // Last, so that an interval narrower than the dot still shows its ends.
      ...(bound === null
        ? [Plot.ruleX([interval.from, interval.to], { y1: BAND_MIDDLE - 11, y2: BAND_MIDDLE + 11, strokeWidth: 2 })]
        : []),
    ],
  })
}

/** Both ends of the scale: all that is drawn with a sixth of room on each side, never below 0 unless something is. */
function scaleEnds({ value, expanded, bound, limit }: ScaleChartInput): [number, number] {
  const shown = [value - expanded, value + expanded]
  if (limit?.min !== undefined) shown.push(limit.min)
  if (limit?.max !== undefined) shown.push(limit.max)
  if (limit?.aim !== undefined) shown.push(limit.aim)
  const least = Math.min(...shown)
  const most = Math.max(...shown)
  // A scale much shorter than a fifth of the value would make a hair's breadth look like a gulf.
  // None of what none is allowed has no size of its own: it is shown against one.
  const span = least === 0 && most === 0 ? 1 : Math.max(most - least, 0.2 * Math.abs(value), Number.MIN_VALUE ** 0.1)
  const middle = (least + most) / 2
  const reach = span / 2 + span / 6 + (bound === null ? 0 : span / 6)
  const low = middle - reach
  return [least >= 0 ? Math.max(0, low) : low, middle + reach]
}

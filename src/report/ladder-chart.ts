import * as Plot from '@observablehq/plot'
import type Handlebars from 'handlebars'
import type { Verdict } from '../model/inspection.js'
import type { Limit } from '../model/job-type.js'
import type { LadderCost, LadderCurve, LadderResult } from '../model/ladder.js'
import type { LimitName } from '../model/reading.js'
import { drawChart } from './draw-chart.js'
import { readingKind, shownUnit } from './format-reading.js'

type Step = LadderResult['steps'][number]

const MANNER = { calibrated: true, rulingUnit: 'lines/in' } as const

/** Lines told apart by their dashes, so that grey prints as well; the mode's name stands at the line's end. */
const DASHES = ['', '7 3', '2 3', '9 3 2 3', '1 2', '12 4']

/** Filled where it passes, half where it cannot be told, empty where it fails. */
const FILLS: Readonly<Record<Verdict, string>> = { pass: 'currentColor', recheck: '#a39b8b', fail: '#fff' }

/**
 * One reading against the ink level for one stock: a line a mode, U as bars, the limit as a heavy line with the failing side hatched.
 * Bounds are arrow heads. Points are filled where the whole setting passes.
 * @param curves the fitted saturation of each mode, drawn thin; empty for none
 */
export function ladderChart(
  steps: readonly Step[],
  reading: LimitName,
  limit: Limit | undefined,
  modes: readonly string[],
  curves: ReadonlyMap<string, LadderCurve>,
  levelLabel: string,
): Handlebars.SafeString {
  const { label, unit } = readingKind(reading)
  const points = steps.flatMap(step => {
    const found = step.readings[reading]
    return found === undefined
      ? []
      : [
          {
            ...found,
            level: step.level,
            mode: step.mode,
            verdict: step.verdict,
            low: found.value - found.expanded,
            high: found.value + found.expanded,
          },
        ]
  })
  const exact = points.filter(p => p.bound === null)
  const ends = modes.flatMap(
    mode =>
      points
        .filter(p => p.mode === mode)
        .sort((a, b) => a.level - b.level)
        .at(-1) ?? [],
  )
  const values = points.flatMap(p => [p.low, p.high])
  const limits = [limit?.min, limit?.max].filter(v => v !== undefined)
  const low = Math.min(...values, ...limits)
  const high = Math.max(...values, ...limits)
  const room = Math.max(high - low, 1e-6) * 0.08
  const levels = points.map(p => p.level)
  const first = Math.min(...levels)
  const last = Math.max(...levels)
  const drawn = [...curves].flatMap(([mode, { base, gain, scale }]) =>
    Array.from({ length: 40 }, (_, i) => {
      const level = first + ((last - first) * i) / 39
      return { mode, level, value: base + gain * (1 - Math.exp(-level / scale)) }
    }),
  )
  const forbidden = [
    ...(limit?.min === undefined ? [] : [{ y1: low - room, y2: limit.min }]),
    ...(limit?.max === undefined ? [] : [{ y1: limit.max, y2: high + room }]),
  ]
  const told = `${label} against level: ${modes
    .map(
      mode =>
        `${mode} ${points
          .filter(p => p.mode === mode)
          .map(p => `${p.level}: ${p.value.toFixed(2)}`)
          .join(', ')}`,
    )
    .join('; ')}.`
  const shownLabel = shownUnit(unit, MANNER).label
  return drawChart(told, {
    height: 250,
    marginLeft: 46,
    marginRight: 62,
    marginTop: 26,
    marginBottom: 36,
    x: {
      domain: [first, last],
      inset: 8,
      label: levelLabel,
      labelAnchor: 'center',
      labelArrow: 'none',
      ticks: [...new Set(levels)].sort((a, b) => a - b).slice(0, 12),
      tickFormat: String,
    },
    y: {
      domain: [low - room, high + room],
      label: shownLabel === '' ? label : `${label}, ${shownLabel}`,
      labelArrow: 'none',
      ticks: 5,
    },
    color: { type: 'identity' },
    marks: [
      Plot.frame({ stroke: 'currentColor', strokeOpacity: 0.45 }),
      Plot.rectY(forbidden, { y1: 'y1', y2: 'y2', fill: 'url(#not-allowed)', fillOpacity: 0.55 }),
      Plot.ruleY(limits, { strokeWidth: 2.5 }),
      Plot.line(drawn, { x: 'level', y: 'value', z: 'mode', strokeWidth: 0.8, strokeOpacity: 0.7 }),
      ...modes.map((mode, i) =>
        Plot.line(
          points.filter(p => p.mode === mode).sort((a, b) => a.level - b.level),
          {
            x: 'level',
            y: 'value',
            strokeWidth: 1.8,
            ...(DASHES[i % DASHES.length] === '' ? {} : { strokeDasharray: DASHES[i % DASHES.length]! }),
          },
        ),
      ),
      Plot.ruleX(exact, { x: 'level', y1: 'low', y2: 'high', strokeWidth: 1.2 }),
      Plot.dot(exact, {
        x: 'level',
        y: 'value',
        r: 4,
        fill: p => FILLS[p.verdict as Verdict],
        stroke: 'currentColor',
        strokeWidth: 1.5,
      }),
      Plot.text(
        points.filter(p => p.bound !== null),
        { x: 'level', y: 'value', text: p => (p.bound === 'atLeast' ? '▲' : '▼'), fontSize: 13 },
      ),
      Plot.text(
        spreadOut(ends, p => p.value, (high - low + 2 * room) / 14),
        {
          x: 'level',
          y: 'shownAt',
          text: 'mode',
          dx: 10,
          textAnchor: 'start',
          fontWeight: 700,
          stroke: '#fbfaf6',
          strokeWidth: 3,
          fill: 'currentColor',
        },
      ),
    ],
  })
}

/** Labels moved apart so that none covers another. */
function spreadOut<T>(items: readonly T[], at: (item: T) => number, apart: number): (T & { shownAt: number })[] {
  const sorted = [...items].sort((a, b) => at(a) - at(b))
  const placed: (T & { shownAt: number })[] = []
  for (const item of sorted) {
    const before = placed.at(-1)?.shownAt ?? Number.NEGATIVE_INFINITY
    placed.push({ ...item, shownAt: Math.max(at(item), before + apart) })
  }
  return placed
}

/**
 * Time against ink: every setting with its verdict, and the frontier of the passing ones, on which nothing is both faster and
 * thriftier. The recommended one is ringed.
 */
export function costChart(
  steps: readonly Step[],
  recommended: (LadderCost & { readonly stock: string; readonly mode: string; readonly level: number }) | null,
  inkLabel: string,
): Handlebars.SafeString {
  const passing = steps.filter(step => step.verdict === 'pass')
  const frontier = passing
    .filter(
      a => !passing.some(b => (b.minutes < a.minutes && b.ink <= a.ink) || (b.minutes <= a.minutes && b.ink < a.ink)),
    )
    .sort((a, b) => a.minutes - b.minutes)
  const said = recommended === null ? [] : [recommended]
  return drawChart(
    `Minutes and ink of ${steps.length} settings, of which ${passing.length} pass; on the frontier ${frontier.map(s => `${s.mode} ${s.level}`).join(', ') || 'none'}.`,
    {
      height: 250,
      marginLeft: 46,
      marginRight: 16,
      marginTop: 26,
      marginBottom: 36,
      x: {
        label: 'minutes a page',
        labelAnchor: 'center',
        labelArrow: 'none',
        inset: 12,
        nice: true,
        zero: true,
        ticks: 6,
      },
      y: { label: inkLabel, labelArrow: 'none', inset: 10, zero: true, ticks: 5 },
      color: { type: 'identity' },
      marks: [
        Plot.frame({ stroke: 'currentColor', strokeOpacity: 0.45 }),
        Plot.line(frontier, { x: 'minutes', y: 'ink', curve: 'step-after', strokeWidth: 2, strokeDasharray: '5 3' }),
        Plot.dot(steps, {
          x: 'minutes',
          y: 'ink',
          r: 4,
          fill: s => FILLS[s.verdict as Verdict],
          stroke: 'currentColor',
          strokeWidth: 1.5,
          sort: (s: Step) => (s.verdict === 'pass' ? 1 : 0),
        }),
        Plot.dot(said, { x: 'minutes', y: 'ink', r: 9, stroke: 'currentColor', strokeWidth: 2.5 }),
        Plot.text(said, {
          x: 'minutes',
          y: 'ink',
          text: s => `${s.mode} ${s.level}`,
          dx: 8,
          dy: -14,
          textAnchor: 'start',
          fontWeight: 700,
          stroke: '#fbfaf6',
          strokeWidth: 3,
          fill: 'currentColor',
        }),
      ],
    },
  )
}

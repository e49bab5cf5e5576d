import Handlebars from 'handlebars/runtime.js'
import type { ProcessLimits, ProcessSegment, ProcessSeries } from '../model/process.js'
import { safe } from './render-template.js'

/** Films drawn: older ones would be too close to be told apart. */
const SHOWN = 60
const WIDTH = 340
const LEFT = 44
const RIGHT = 12
const TOP = 30
const VALUES = 130
const GAP = 26
const RANGES = 56
const BOTTOM = 20
const HEIGHT = TOP + VALUES + GAP + RANGES + BOTTOM

/** The word that stands at a mark. */
export const RULE_WORDS = { limit: 'limit', side: 'side', twoOfThree: '2 of 3', range: 'step' } as const

/**
 * Chart of individuals above, of moving ranges below: films evenly spaced in the order they were scanned. Solid line: mean; dashed: limits;
 * a flag: a reset. Marks by shape and word: a full diamond beyond a limit, squares for a run on one side, triangles for two of three, a full
 * diamond below for a step. Drawn by hand and not with the plotting library, as a page may hold hundreds.
 * @param decimals of the numbers at the side
 * @param told what the chart shows, in words
 */
export function processChartPicture(series: ProcessSeries, decimals: number, told: string): Handlebars.SafeString {
  const { points, segments, signals } = series
  const from = Math.max(0, points.length - SHOWN)
  const shown = points.slice(from)
  const spans = segments.flatMap(segment =>
    segment.to > from ? [{ ...segment, from: Math.max(segment.from, from), begun: segment.from >= from }] : [],
  )
  const x = (i: number) =>
    shown.length === 1
      ? (LEFT + WIDTH - RIGHT) / 2
      : LEFT + 8 + ((i - from) * (WIDTH - RIGHT - LEFT - 16)) / (shown.length - 1)
  const limits = spans.flatMap(({ limits: l }) => (l === null ? [] : [l.lower, l.upper]))
  const values = scale([...shown.map(p => p.value), ...limits], TOP, VALUES)
  const steps = rangesOf(series, from)
  const ranges = scale(
    [0, ...steps.map(s => s.range), ...spans.flatMap(s => (s.limits === null ? [] : [s.limits.rangeLimit]))],
    TOP + VALUES + GAP,
    RANGES,
    0,
  )
  const parts: string[] = []
  for (const span of spans) drawLimits(parts, span, x, values.at, ranges.at)
  parts.push(line(shown.map((p, i) => [x(i + from), values.at(p.value)] as const)))
  for (const span of spans)
    parts.push(
      line(steps.filter(s => s.at >= span.from && s.at < span.to).map(s => [x(s.at), ranges.at(s.range)] as const)),
    )
  const marks = marksOf(series, from)
  const r = shown.length > 40 ? 2.5 : 3.5
  for (let i = from; i < points.length; i++)
    parts.push(
      `<g><title>${escaped(`${points[i]!.positive}, ${points[i]!.at.slice(0, 10)}: ${number(points[i]!.value, decimals)}`)}</title>${shape(marks.shapes.get(i), x(i), values.at(points[i]!.value), r)}</g>`,
    )
  const stepped = new Set(signals.filter(s => s.rule === 'range').map(s => s.since))
  for (const { at, range } of steps)
    parts.push(shape(stepped.has(at) ? 'range' : undefined, x(at), ranges.at(range), r))
  for (const { at, word, side } of marks.words) {
    const low = word === RULE_WORDS.range
    const y = low ? ranges.at(steps.find(s => s.at === at)!.range) : values.at(points[at]!.value)
    const edge = x(at) > WIDTH - 46 ? 'end' : x(at) < LEFT + 30 ? 'start' : 'middle'
    parts.push(
      `<text x="${n(x(at))}" y="${n(side === 'below' ? y + 16 : y - 8)}" text-anchor="${edge}" class="mark-word" ${HALO}>${word}</text>`,
    )
  }
  const side = (y: number, text: string) => `<text x="${LEFT - 5}" y="${n(y + 4)}" text-anchor="end">${text}</text>`
  const newest = spans.at(-1)?.limits ?? null
  parts.push(
    ...(newest === null
      ? values.ends.map(v => side(values.at(v), number(v, decimals)))
      : [newest.upper, newest.mean, newest.lower].map(v => side(values.at(v), number(v, decimals)))),
    ...(newest === null ? [] : [side(ranges.at(newest.rangeLimit), number(newest.rangeLimit, decimals))]),
    side(ranges.at(0), '0'),
    `<text x="${LEFT}" y="${TOP + VALUES + GAP - 8}">step from the film before</text>`,
    `<text x="${n(x(from))}" y="${HEIGHT - 4}" text-anchor="${shown.length === 1 ? 'middle' : 'start'}">${shown[0]!.at.slice(0, 10)}</text>`,
    ...(shown.length === 1
      ? []
      : [
          `<text x="${n(x(points.length - 1))}" y="${HEIGHT - 4}" text-anchor="end">${shown.at(-1)!.at.slice(0, 10)}</text>`,
        ]),
  )
  return safe(
    `<svg aria-label="${escaped(told)}" role="img" class="chart" viewBox="0 0 ${WIDTH} ${HEIGHT}" font-size="11" font-family="inherit" fill="currentColor">${parts.join('')}</svg>`,
  )
}

/** White behind words, so that lines do not cross them out. */
const HALO = 'font-weight="700" stroke="#fbfaf6" stroke-width="3" paint-order="stroke"'

function drawLimits(
  parts: string[],
  span: ProcessSegment & { readonly begun: boolean },
  x: (i: number) => number,
  value: (v: number) => number,
  range: (v: number) => number,
): void {
  const [left, right] = [x(span.from) - 6, x(span.to - 1) + 6]
  const rule = (y: number, dashed: boolean) =>
    `<path d="M${n(left)} ${n(y)}H${n(right)}" stroke="currentColor" stroke-width="${dashed ? 2 : 1}"${dashed ? ' stroke-dasharray="6 4"' : ''}/>`
  if (span.limits !== null) {
    const { mean, upper, lower, rangeLimit }: ProcessLimits = span.limits
    parts.push(
      rule(value(mean), false),
      rule(value(upper), true),
      rule(value(lower), true),
      rule(range(rangeLimit), true),
    )
  }
  if (span.reset === null || !span.begun) return
  const at = span.from === 0 ? left : (x(span.from) + x(span.from - 1)) / 2
  const end = at > WIDTH / 2
  const name = span.reset.length > 34 ? `${span.reset.slice(0, 33)}…` : span.reset
  parts.push(
    `<path d="M${n(at)} ${TOP - 18}V${HEIGHT - BOTTOM}" stroke="currentColor" stroke-width="1.5" stroke-dasharray="1.5 3"/><path d="M${n(at)} ${TOP - 20}h${end ? -9 : 9}l0 8h${end ? 9 : -9}z"/>`,
    `<text x="${n(at + (end ? -13 : 13))}" y="${TOP - 12}" text-anchor="${end ? 'end' : 'start'}" ${HALO}>${escaped(name)}</text>`,
  )
}

/** Steps between neighbours within a segment: across a reset they say nothing. */
function rangesOf({ points, segments }: ProcessSeries, from: number) {
  return segments.flatMap(segment => {
    const steps: { readonly at: number; readonly range: number }[] = []
    for (let i = Math.max(segment.from + 1, from); i < segment.to; i++)
      steps.push({ at: i, range: Math.abs(points[i]!.value - points[i - 1]!.value) })
    return steps
  })
}

type Rule = keyof typeof RULE_WORDS

/** The shape of each point, the strongest signal's where several meet, and the word at the end of each signal. */
function marksOf({ signals }: ProcessSeries, from: number) {
  const shapes = new Map<number, Rule>()
  const words: { at: number; word: string; side: 'above' | 'below' | null }[] = []
  for (const rule of ['side', 'twoOfThree', 'limit', 'range'] as const)
    for (const signal of signals) {
      if (signal.rule !== rule || signal.until < from) continue
      if (rule !== 'range') for (let i = Math.max(signal.since, from); i <= signal.until; i++) shapes.set(i, rule)
      const word = RULE_WORDS[rule]
      const there = words.find(w => w.at === signal.until && w.side === signal.side)
      if (there === undefined) words.push({ at: signal.until, word, side: signal.side })
      else there.word = word
    }
  return { shapes, words }
}

function shape(rule: Rule | undefined, x: number, y: number, r: number): string {
  const at = (dx: number, dy: number) => `${n(x + dx)} ${n(y + dy)}`
  if (rule === 'limit' || rule === 'range') {
    const d = r + 3.5
    return `<path d="M${at(0, -d)}L${at(d, 0)}L${at(0, d)}L${at(-d, 0)}Z"/>`
  }
  if (rule === 'twoOfThree') return `<path d="M${at(0, -r - 2.5)}L${at(r + 2, r)}L${at(-r - 2, r)}Z"/>`
  if (rule === 'side') return `<path d="M${at(-r, -r)}h${2 * r}v${2 * r}h${-2 * r}Z"/>`
  return `<circle cx="${n(x)}" cy="${n(y)}" r="${r}" fill="#fff" stroke="currentColor" stroke-width="1.5"/>`
}

function scale(shown: readonly number[], top: number, height: number, floor?: number) {
  const [low, high] = [floor ?? Math.min(...shown), Math.max(...shown)]
  const room = high > low ? 0.08 * (high - low) : Math.max(Math.abs(high) * 0.01, 1e-3)
  const [least, most] = [floor ?? low - room, high + room]
  return {
    at: (value: number) => top + (height * (most - value)) / (most - least),
    ends: high > low ? [high, low] : [high],
  }
}

function line(places: readonly (readonly [number, number])[]): string {
  if (places.length < 2) return ''
  return `<polyline points="${places.map(([x, y]) => `${n(x)},${n(y)}`).join(' ')}" fill="none" stroke="currentColor" stroke-width="1"/>`
}

function n(value: number): string {
  return Number(value.toFixed(1)).toString()
}

function number(value: number, decimals: number): string {
  return value.toFixed(decimals).replace('-', '\u2212')
}

function escaped(text: string): string {
  return Handlebars.escapeExpression(text)
}

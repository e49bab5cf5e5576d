import * as Plot from '@observablehq/plot'
import type Handlebars from 'handlebars'
import type { GaugeComponent, GaugeStudy, GaugeWord, StudyCell, VarianceLine } from '../model/gauge-study.js'
import type { Verdict } from '../model/inspection.js'
import { drawChart } from './draw-chart.js'
import { formatLimit, isReadingName, readingKind, shownUnit } from './format-reading.js'
import { formatTime } from './format-time.js'
import { prose } from './prose.js'
import { renderTemplate } from './render-template.js'
import { verdictShape } from './verdict-shape.js'

/** What a page of a gauge study is made from. */
export interface StudyPageInput {
  readonly study: GaugeStudy
  /** Name of the shop, as in burngate.yaml. */
  readonly shop: string
  /** A reading's name, else whatever the table calls its values. */
  readonly reading: string
  /** What was studied, e.g. `scanner flatbed-a`; null when the values came as a table. */
  readonly gauge: string | null
  /** Where the values came from: a file's name, or how many scans. */
  readonly source: string
  /** Job type the tolerance was taken from; null for none. */
  readonly toleranceFrom: string | null
  /** When the study was worked out, ISO 8601. */
  readonly at: string
  /** `burngate x.y.z` */
  readonly software: string
}

const WORDS: Readonly<Record<GaugeWord, { word: string; manner: Verdict }>> = {
  good: { word: 'Good enough', manner: 'pass' },
  marginal: { word: 'Marginal', manner: 'recheck' },
  poor: { word: 'Not good enough', manner: 'fail' },
  undecided: { word: 'Cannot tell', manner: 'recheck' },
}

const MANNER = { calibrated: true, rulingUnit: 'lines/in' } as const

/** More panels than this fill a page and tell no more; the table below holds all. */
const MOST_PANELS = 8

/**
 * The page of a gauge study: a verdict a printer can act on, where the scatter comes from, every value and range.
 * One self-contained HTML document; everything that came from a file or a person is escaped.
 */
export function studyPage(input: StudyPageInput): string {
  const { study } = input
  const { components, verdict, analysis, across, averageAndRange: form, gaugeInterval, room } = study
  const kind = isReadingName(input.reading) ? readingKind(input.reading) : null
  const label = kind?.label ?? input.reading
  const unit = kind === null ? '' : shownUnit(kind.unit, MANNER).label
  const withUnit = (text: string) => (unit === '' ? text : `${text}\u00a0${unit}`)
  const counted = `${study.parts.length} parts, ${plural(study.operators.length, across)}, ${study.repeats} repeats`
  const { word, manner } = WORDS[verdict.word]
  const tested = (name: string, line: VarianceLine | null) =>
    line === null
      ? []
      : [
          {
            name,
            degrees: String(line.degreesOfFreedom),
            sum: digits(line.sumOfSquares, 5),
            mean: digits(line.meanSquare, 5),
            f: line.f === null ? '' : digits(line.f, 4),
            p: line.p === null ? '' : line.p < 0.0005 ? 'below\u00a00.001' : line.p.toFixed(3),
          },
        ]
  const row = (name: string, component: GaugeComponent | null, manner: '' | 'sum' = '') =>
    component === null
      ? []
      : [
          {
            name,
            manner,
            deviation: component.clamped ? '0 (came out below 0)' : digits(component.deviation, 3),
            contribution: component.contributionPercent.toFixed(1),
            spread: component.studyVariationPercent.toFixed(1),
            tolerance: component.tolerancePercent === null ? '' : component.tolerancePercent.toFixed(1),
          },
        ]
  const numbered = numbering(study)

  return renderTemplate('study', {
    title: `Gauge study: ${label}, ${word.toLowerCase()}`,
    shop: input.shop,
    word,
    manner,
    shape: verdictShape(manner),
    subject: input.gauge === null ? label : `${label}, ${input.gauge}`,
    counted,
    studiedAt: formatTime(input.at),
    why: prose(verdict.why),
    next: prose(verdict.next),
    notes: study.notes.map(prose),
    unitHead: unit === '' ? 'Standard deviation' : `Standard deviation, ${unit}`,
    hasTolerance: room !== null,
    components: [
      ...row('Gauge', components.gauge, 'sum'),
      ...row('Repeatability (between repeats)', components.repeatability),
      ...row(`Reproducibility (between ${across}s)`, components.reproducibility),
      ...(components.interaction === null
        ? []
        : [
            ...row(`of which ${across} alone`, components.operator),
            ...row(`of which ${across} by part`, components.interaction),
          ]),
      ...row('Parts', components.part, 'sum'),
      ...row('All together', components.total),
    ],
    facts: [
      {
        name: 'Agreement',
        value: `two readings of one part, each taken anew, lie within ${withUnit(digits(study.reproducibilityLimit, 3))} of each other 95 times in 100`,
      },
      {
        name: 'Distinct categories',
        value:
          study.distinctCategories === null
            ? 'not known: no repeat ever differed'
            : `${study.distinctCategories}: into so many groups the gauge can sort these parts`,
      },
      ...(gaugeInterval === null
        ? []
        : [
            {
              name: 'How well known',
              value: `standard deviation of the gauge ${withUnit(digits(components.gauge.deviation, 3))}, 90 % interval ${digits(gaugeInterval.lower, 3)} to ${withUnit(digits(gaugeInterval.upper, 3))}`,
            },
          ]),
      ...toleranceFacts(input, withUnit),
    ],
    judgedChart: verdict.percent === null ? null : judgedChart(study),
    judgedCaption: judgedCaption(study),
    contributionChart: contributionChart(study),
    valuesChart: panels(study, label, unit, 'values'),
    rangesChart: panels(study, label, unit, 'ranges'),
    panelNote: [
      study.operators.length > MOST_PANELS
        ? `The first ${MOST_PANELS} of ${study.operators.length} ${across}s are drawn.`
        : '',
      numbered ? 'Parts are numbered as in the table of values.' : '',
    ]
      .filter(text => text !== '')
      .join(' '),
    rangeCaption: `Largest less smallest of the repeats. The line is the control limit, ${withUnit(digits(study.rangeLimit, 3))}; a range above it is filled.`,
    acrossHead: across === 'operator' ? 'Operator' : 'Placement',
    analysis: [
      ...tested('Parts', analysis.part),
      ...tested(across === 'operator' ? 'Operators' : 'Placements', analysis.operator),
      ...tested(`Parts by ${across}s`, analysis.interaction),
      ...(study.pooled ? tested('Within', analysis.within) : []),
      ...tested(study.pooled ? 'Repeatability, pooled' : 'Repeatability (within)', analysis.repeatability),
    ],
    analysisNote: study.pooled
      ? `The interaction is no larger than chance (p above 0.25) and is pooled with the scatter within; parts and ${across}s are tested against both together.`
      : analysis.interaction === null
        ? `With one ${across} there is nothing to cross: one-way analysis of variance.`
        : `Parts and ${across}s are tested against their interaction: it is not pooled.`,
    form:
      form === null
        ? []
        : [
            { name: 'Average range', value: withUnit(digits(form.averageRange, 4)) },
            {
              name: 'Repeatability',
              value: `${withUnit(digits(form.equipmentVariation, 4))}, ${form.percent.equipment.toFixed(2)} %`,
            },
            ...(form.appraiserVariation === null
              ? []
              : [
                  {
                    name: 'Reproducibility',
                    value: `${withUnit(digits(form.appraiserVariation, 4))}, ${form.percent.appraiser!.toFixed(2)} %`,
                  },
                ]),
            { name: 'Gauge', value: `${withUnit(digits(form.gauge, 4))}, ${form.percent.gauge.toFixed(2)} %` },
            { name: 'Parts', value: `${withUnit(digits(form.partVariation, 4))}, ${form.percent.part.toFixed(2)} %` },
            { name: 'All together', value: withUnit(digits(form.totalVariation, 4)) },
            { name: 'Distinct categories', value: `${form.distinctCategories ?? 'not known'}` },
          ],
    valuesHead: unit === '' ? 'Values' : `Values, ${unit}`,
    cells: study.cells.map(cell => ({
      number: numbered ? `${study.parts.indexOf(cell.part) + 1}. ` : '',
      part: cell.part,
      operator: cell.operator,
      values: cell.values.map(value => digits(value, 6)).join('; '),
      mean: digits(cell.mean, 6),
      range: digits(cell.range, 3),
      flagged: cell.flagged ? 'above the limit' : '',
    })),
    origin: [
      { name: 'Reading', value: kind === null ? label : `${label} (${input.reading})` },
      ...(input.gauge === null ? [] : [{ name: 'Gauge', value: input.gauge }]),
      { name: 'Values from', value: input.source },
      { name: 'Parts', value: names(study.parts) },
      { name: across === 'operator' ? 'Operators' : 'Placements', value: names(study.operators) },
      { name: 'Repeats', value: String(study.repeats) },
      { name: 'Worked out', value: formatTime(input.at) },
    ],
    software: input.software,
  })
}

function toleranceFacts(
  { study, toleranceFrom, reading }: StudyPageInput,
  withUnit: (text: string) => string,
): { name: string; value: string }[] {
  const { tolerance, room } = study
  if (tolerance === null)
    return [{ name: 'Tolerance', value: 'none given: held against the spread of all readings in the study' }]
  const { min, max, aim } = tolerance
  const plain = (value: number) =>
    isReadingName(reading) ? formatLimit(value, readingKind(reading).unit, MANNER) : withUnit(digits(value, 6))
  const limits = [
    ...(min === undefined ? [] : [`at least ${plain(min)}`]),
    ...(max === undefined ? [] : [`at most ${plain(max)}`]),
    ...(aim === undefined ? [] : [`aim ${plain(aim)}`]),
  ].join(', ')
  return [
    {
      name: 'Tolerance',
      value: toleranceFrom === null ? limits || 'no limit' : `${limits || 'no limit'} (job type ${toleranceFrom})`,
    },
    ...(room === null
      ? []
      : [
          {
            name: 'Room',
            value: `${withUnit(digits(room.width, 4))}, ${
              {
                limits: 'between the limits',
                aim: 'between limit and aim',
                mean: 'between the limit and the mean of these parts',
              }[room.from]
            }; held against ${room.sigmas} standard deviations`,
          },
        ]),
  ]
}

function judgedCaption(study: GaugeStudy): string {
  const limits = 'Below 10 is good enough, above 30 (hatched) is not'
  return study.room === null
    ? `Share of the spread of all readings, percent. ${limits}. Shares of spreads do not add up.`
    : `Share of the tolerance, percent. ${limits}. The thin bar is the 90 % interval of the gauge; shares of spreads do not add up.`
}

function judgedChart(study: GaugeStudy): Handlebars.SafeString {
  const { gauge, repeatability, reproducibility } = study.components
  const shareOf = (component: GaugeComponent) => component.tolerancePercent ?? component.studyVariationPercent
  const bars = [
    { name: 'gauge', share: shareOf(gauge) },
    { name: 'repeatability', share: shareOf(repeatability) },
    ...(reproducibility === null ? [] : [{ name: 'reproducibility', share: shareOf(reproducibility) }]),
  ]
  // Against the spread of the study the interval of the gauge alone says nothing: the spread would grow with it.
  const interval =
    study.room === null || study.gaugeInterval === null
      ? []
      : [
          {
            name: 'gauge',
            low: (shareOf(gauge) * study.gaugeInterval.lower) / gauge.deviation,
            high: (shareOf(gauge) * study.gaugeInterval.upper) / gauge.deviation,
          },
        ]
  // A far end of an interval must not squeeze the bars: the axis ends at three times the longest.
  const longest = Math.max(...bars.map(bar => bar.share))
  const end = Math.max(40, 1.15 * Math.min(3 * longest, Math.max(longest, ...interval.map(i => i.high))))
  return drawChart(`${bars.map(bar => `${bar.name} ${bar.share.toFixed(1)} %`).join(', ')}; limits 10 and 30 %.`, {
    height: 60 + 42 * bars.length,
    marginLeft: 100,
    marginRight: 16,
    marginTop: 22,
    marginBottom: 34,
    x: { domain: [0, end], label: 'percent', labelAnchor: 'center', labelArrow: 'none', ticks: 6 },
    y: { domain: bars.map(bar => bar.name), label: null, tickSize: 0, padding: 0.3 },
    marks: [
      Plot.rect([0], { x1: 30, x2: end, fill: 'url(#not-allowed)', fillOpacity: 0.45 }),
      Plot.barX(bars, {
        x: 'share',
        y: 'name',
        fill: (bar: { name: string }) => (bar.name === 'gauge' ? 'currentColor' : 'white'),
        stroke: 'currentColor',
        strokeWidth: 2,
      }),
      Plot.ruleY(interval, { y: 'name', x1: 'low', x2: i => Math.min(i.high, end), stroke: 'white', strokeWidth: 6 }),
      Plot.ruleY(interval, { y: 'name', x1: 'low', x2: i => Math.min(i.high, end), strokeWidth: 2.5 }),
      Plot.ruleX([10, 30], { strokeWidth: 2.5 }),
      Plot.text(end > 160 ? [30] : [10, 30], {
        x: d => d,
        text: d => `${d}`,
        frameAnchor: 'top',
        dy: -12,
        fontWeight: 700,
      }),
    ],
    color: { type: 'identity' },
  })
}

function contributionChart(study: GaugeStudy): Handlebars.SafeString {
  const { repeatability, reproducibility, part } = study.components
  const bars = [
    { name: 'repeatability', share: repeatability.contributionPercent },
    ...(reproducibility === null ? [] : [{ name: 'reproducibility', share: reproducibility.contributionPercent }]),
    { name: 'parts', share: part.contributionPercent },
  ]
  return drawChart(`Share of the variance: ${bars.map(bar => `${bar.name} ${bar.share.toFixed(1)} %`).join(', ')}.`, {
    height: 60 + 42 * bars.length,
    marginLeft: 100,
    marginRight: 44,
    marginTop: 22,
    marginBottom: 34,
    x: { domain: [0, 100], label: 'percent of the variance', labelAnchor: 'center', labelArrow: 'none', ticks: 5 },
    y: { domain: bars.map(bar => bar.name), label: null, tickSize: 0, padding: 0.3 },
    marks: [
      Plot.barX(bars, {
        x: 'share',
        y: 'name',
        fill: (bar: { name: string }) => (bar.name === 'parts' ? 'white' : 'currentColor'),
        stroke: 'currentColor',
        strokeWidth: 2,
      }),
      Plot.text(bars, { x: 'share', y: 'name', text: bar => bar.share.toFixed(1), textAnchor: 'start', dx: 7 }),
      Plot.ruleX([0]),
    ],
    color: { type: 'identity' },
  })
}

/** One panel an operator, one under the other on the same scale: no legend is needed, and grey prints as well. */
function panels(study: GaugeStudy, label: string, unit: string, kind: 'values' | 'ranges'): Handlebars.SafeString {
  const shown = study.operators.slice(0, MOST_PANELS)
  const numbered = numbering(study)
  const at = new Map(study.parts.map((part, i) => [part, i + 1]))
  const cells = study.cells
    .filter(cell => shown.includes(cell.operator))
    .map(cell => ({ ...cell, x: at.get(cell.part)! }))
  const dots = cells.flatMap(cell => cell.values.map(value => ({ x: cell.x, operator: cell.operator, value })))
  const count = study.parts.length
  const every = Math.max(1, Math.ceil(count / 12))
  const flagged = cells.filter(cell => cell.flagged)
  const told =
    kind === 'values'
      ? `${label} of every part, one panel ${study.across === 'operator' ? 'an operator' : 'a placement'}: ${digits(Math.min(...dots.map(d => d.value)), 4)} to ${digits(Math.max(...dots.map(d => d.value)), 4)}.`
      : `Ranges of the repeats: largest ${digits(Math.max(...cells.map(c => c.range)), 3)}, control limit ${digits(study.rangeLimit, 3)}, above it ${flagged.length}.`
  const most = Math.max(study.rangeLimit, ...cells.map(cell => cell.range))
  return drawChart(told, {
    height: 60 + 104 * shown.length,
    marginLeft: 50,
    marginRight: 12,
    marginTop: 34,
    marginBottom: 36,
    x: {
      domain: [0.5, count + 0.5],
      label: 'part',
      labelAnchor: 'center',
      labelArrow: 'none',
      ticks: study.parts.map((_, i) => i + 1).filter(i => (i - 1) % every === 0),
      tickFormat: (i: number) => (numbered ? `${i}` : study.parts[i - 1]!),
    },
    y: {
      ...(kind === 'ranges' ? { domain: [0, (most > 0 ? most : 1) * 1.1] } : { nice: true, inset: 6 }),
      label: kind === 'ranges' ? ['range', unit].filter(t => t !== '').join(', ') : unit === '' ? 'value' : unit,
      labelArrow: 'none',
      ticks: 3,
    },
    fy: { domain: shown, label: null, axis: null, padding: 0.26, paddingOuter: 0 },
    marks: [
      Plot.frame({ stroke: 'currentColor', strokeOpacity: 0.45 }),
      ...(kind === 'values'
        ? [
            Plot.line(cells, { x: 'x', y: 'mean', fy: 'operator', strokeWidth: 1.25, strokeDasharray: '4 3' }),
            Plot.dot(dots, {
              x: 'x',
              y: 'value',
              fy: 'operator',
              r: count > 40 ? 2 : 3.2,
              fill: 'white',
              fillOpacity: 0.6,
              stroke: 'currentColor',
              strokeWidth: 1.5,
            }),
          ]
        : [
            Plot.ruleY([study.rangeLimit], { strokeWidth: 2.5 }),
            Plot.ruleX(cells, { x: 'x', y1: 0, y2: 'range', fy: 'operator', strokeWidth: 1.5 }),
            Plot.dot(cells, {
              x: 'x',
              y: 'range',
              fy: 'operator',
              r: (cell: StudyCell) => (cell.flagged ? 5.5 : 3.2),
              fill: (cell: StudyCell) => (cell.flagged ? 'currentColor' : 'white'),
              stroke: 'currentColor',
              strokeWidth: 1.5,
            }),
          ]),
      Plot.text(shown, {
        fy: d => d,
        text: d => clip(d, 28),
        frameAnchor: 'top-left',
        dy: -13,
        fontWeight: 700,
      }),
    ],
    r: { type: 'identity' },
    color: { type: 'identity' },
  })
}

/** Whether part names are too long or too many to stand under a chart, so that numbers stand there instead. */
function numbering(study: GaugeStudy): boolean {
  return study.parts.length > 12 || study.parts.some(part => part.length > (study.parts.length > 6 ? 4 : 7))
}

/** Rounded to so many significant digits, written without an exponent where that is readable, with a real minus. */
function digits(value: number, significant: number): string {
  const rounded = Number(value.toPrecision(significant))
  const size = Math.abs(rounded)
  const text =
    size !== 0 && (size < 1e-6 || size >= 1e9)
      ? rounded.toExponential(significant - 1)
      : size === 0
        ? '0'
        : rounded.toFixed(Math.min(20, Math.max(0, significant - 1 - Math.floor(Math.log10(size)))))
  // Values keep no zeros that nobody measured.
  const short = significant > 3 && text.includes('.') && !text.includes('e') ? text.replace(/\.?0+$/, '') : text
  return short.replaceAll('-', '\u2212')
}

function plural(count: number, noun: string): string {
  return `${count} ${noun}${count === 1 ? '' : 's'}`
}

function clip(text: string, most: number): string {
  const letters = [...text]
  return letters.length <= most ? text : `${letters.slice(0, most - 1).join('')}…`
}

function names(all: readonly string[]): string {
  const shown = all.slice(0, 30).join('; ')
  return all.length <= 30 ? `${all.length}: ${shown}` : `${all.length}: ${shown}; …`
}

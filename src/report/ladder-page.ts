import type Handlebars from 'handlebars'
import type { Verdict } from '../model/inspection.js'
import type { JobType } from '../model/job-type.js'
import type {
  Combination,
  LadderAnswer,
  LadderChoice,
  LadderCurve,
  LadderKnee,
  LadderPlan,
  LadderResult,
  StockAge,
} from '../model/ladder.js'
import type { LimitName, Reading } from '../model/reading.js'
import { BLACKEST_DENSITY, densityGrey } from './density-picture.js'
import { formatLimit, formatReading, readingKind, shownUnit } from './format-reading.js'
import { formatTime } from './format-time.js'
import { costChart, ladderChart } from './ladder-chart.js'
import { prose } from './prose.js'
import { renderTemplate, safe } from './render-template.js'
import { verdictShape } from './verdict-shape.js'

/** What the page of an ink ladder is made from. */
export interface LadderPageInput {
  readonly plan: LadderPlan
  readonly jobType: JobType
  readonly result: LadderResult
  readonly ages: readonly StockAge[]
  readonly unread: readonly { readonly file: string; readonly what: string; readonly next: string }[]
  readonly notes: readonly string[]
  readonly shop: string
  /** ISO 8601: of the newest scan, and of the reading. */
  readonly scannedAt: string
  readonly at: string
  readonly scanner: string | null
  /** Deepest density the scanner tells; null without a calibration. */
  readonly deepest: number | null
  /** `burngate x.y.z` */
  readonly software: string
}

const MANNER = { calibrated: true, rulingUnit: 'lines/in' } as const

/** Shown on charts and in the table, in this order, where they were read. */
const SHOWN: readonly LimitName[] = [
  'solidDensity',
  'solidDensityLowest',
  'bandingAmplitude',
  'mottle',
  'riseWidth',
  'fringeWidth',
  'inkSpread',
  'raggedness',
  'lineGain',
  'toneValueError',
  'baseDensity',
  'pinholeCount',
]
/** Charts beside density: what decides most often. */
const CHARTED: readonly LimitName[] = ['bandingAmplitude', 'riseWidth', 'lineGain', 'raggedness']
const MOST_CHARTS = 3

/** The page of an ink ladder: the setting to print at, what it saves, why nothing cheaper, and everything it rests on. */
export function ladderPage(input: LadderPageInput): string {
  const { plan, jobType, result } = input
  const { recommended, safer, saves, cheaper, closest, lookNext } = result
  const steps = result.steps
  const answered: Verdict = recommended !== null ? 'pass' : steps.every(s => s.verdict === 'fail') ? 'fail' : 'recheck'
  const read = SHOWN.filter(name => steps.some(step => step.readings[name] !== undefined))
  const charted = CHARTED.filter(name => read.includes(name)).slice(0, MOST_CHARTS)
  const stocks = plan.stocks.filter(stock => steps.some(step => step.stock === stock))
  const inkUnit = hasMillilitres(plan) ? 'ml' : 'levels'

  return renderTemplate('ladder', {
    title: `Ink ladder ${plan.name}: ${recommended === null ? 'nothing passes' : setting(plan, recommended)}`,
    shop: input.shop,
    manner: answered,
    shape: verdictShape(answered),
    word: recommended === null ? 'Nothing passes' : `${recommended.mode} ${levelText(plan, recommended.level)}`,
    subject: recommended === null ? plan.name : `on ${recommended.stock}`,
    ticket: `${plan.name}, to satisfy ${plan.jobType}`,
    scannedAt: formatTime(input.scannedAt),
    why: prose(
      recommended !== null
        ? `The cheapest setting that passes ${plan.jobType} with its uncertainty${marginText(recommended)}.`
        : closest !== null
          ? `Closest comes ${setting(plan, closest)}. ${closest.why}`
          : 'Nothing was read.',
    ),
    next: prose(
      recommended !== null
        ? safer === null
          ? 'Print with it; no dearer setting of this film has more room.'
          : `Print with it; ${setting(plan, safer)} is the next safer one.`
        : (closest?.advice ?? 'scan the sheets and read them'),
    ),
    notes: [
      ...(input.scanner === null ? ['Without a calibration nothing passes: densities are code density.'] : []),
      ...input.notes,
    ].map(prose),
    unread: input.unread.map(({ what, next }) => ({ what: prose(what), next: prose(next) })),
    missing: result.missing.length === 0 ? null : missingText(plan, result.missing),
    facts: [
      ...(recommended === null
        ? []
        : [
            {
              name: 'Recommended',
              value: `${setting(plan, recommended)}: ${costText(recommended, inkUnit)} a page`,
            },
          ]),
      ...(safer === null
        ? []
        : [
            {
              name: 'Next safer',
              value: `${setting(plan, safer)}: ${costText(safer, inkUnit)} a page${marginText(safer)}`,
            },
          ]),
      ...(saves === null
        ? []
        : [
            {
              name: 'Saves',
              value: prose(
                `${amount(saves.minutes)} minutes and ${amount(saves.ink)} ${inkUnit} of ink on a hundred films, against ${setting(plan, saves.against)}, the dearest that passes`,
              ),
            },
          ]),
      ...(lookNext === null
        ? []
        : [{ name: 'Look next', value: prose(`Level ${levelText(plan, lookNext.level)}. ${lookNext.why}`) }]),
    ],
    cheaper: cheaper.map(one => ({
      setting: setting(plan, one),
      cost: costText(one, inkUnit),
      shape: verdictShape(one.verdict),
      word: one.verdict,
      why: prose(one.why),
    })),
    stocks: plan.stocks.map(stock => stockView(plan, stock, result, inkUnit)),
    manyStocks: plan.stocks.length > 1,
    grid: gridView(plan, result),
    levels: plan.levels.map(level => levelText(plan, level)),
    ages: input.ages.map(ageView),
    charts: stocks.map(stock => {
      const own = steps.filter(step => step.stock === stock)
      const modes = plan.modes.map(m => m.name).filter(mode => own.some(step => step.mode === mode))
      const chart = (name: LimitName, curves: ReadonlyMap<string, LadderCurve>) =>
        ladderChart(
          own,
          name,
          jobType.limits[name],
          modes,
          curves,
          plan.levelUnit === '' ? 'ink level' : 'ink level, %',
        )
      return {
        stock,
        charts: [
          ...(read.includes('solidDensity')
            ? [
                {
                  chart: chart('solidDensity', curvesOf(result, stock)),
                  caption: 'Solid density. Thin curves are the fitted saturation.',
                },
              ]
            : []),
          ...charted
            .filter(name => own.some(step => step.readings[name] !== undefined))
            .map(name => ({ chart: chart(name, new Map()), caption: `${readingKind(name).label}.` })),
        ],
        knees: result.lines
          .filter(line => line.stock === stock)
          .map(line => ({ mode: line.mode, text: prose(kneeText(plan, line.knee)) })),
      }
    }),
    costChart: costChart(steps, recommended, inkUnit === 'ml' ? 'ml of ink a page' : 'ink level'),
    crops: cropRows(plan, result),
    key: densityKey(input.deepest),
    readingHeads: read.map(name => {
      const { label, unit } = readingKind(name)
      const shown = shownUnit(unit, MANNER).label
      return shown === '' ? label : `${label}, ${shown}`
    }),
    rows: steps.map(step => ({
      setting: setting(plan, step),
      shape: verdictShape(step.verdict),
      word: step.verdict,
      cells: read.map(name => cellText(step.readings[name], step.spread[name])),
      why: prose(step.why),
      samples: step.samples.map(s => s.file).join(', '),
    })),
    limits: (Object.entries(result.limits) as [LimitName, NonNullable<JobType['limits'][LimitName]>][])
      .filter(([, { min, max }]) => min !== undefined || max !== undefined)
      .map(([name, { min, max }]) => {
        const { label, unit } = readingKind(name)
        return {
          name: label,
          value: [
            ...(min === undefined ? [] : [`at least ${formatLimit(min, unit, MANNER)}`]),
            ...(max === undefined ? [] : [`at most ${formatLimit(max, unit, MANNER)}`]),
          ].join(', '),
        }
      }),
    origin: [
      {
        name: 'Plan',
        value: `${plan.name}: ${plan.stocks.join(', ')}; ${plan.modes.map(m => `${m.name} (${m.dpi.across} x ${m.dpi.along} dpi, ${m.directions === 1 ? 'one way' : 'both ways'}, ${m.minutes} min)`).join(', ')}`,
      },
      {
        name: 'Cheap means',
        value:
          plan.weigh === null
            ? 'time first, then ink'
            : `a minute counts ${plan.weigh.minutes}, ${inkUnit === 'ml' ? 'a millilitre' : 'a level'} ${plan.weigh.ink}`,
      },
      { name: 'Job type', value: plan.jobType },
      { name: 'Scanner', value: input.scanner ?? 'not calibrated' },
      { name: 'Newest scan', value: formatTime(input.scannedAt) },
      { name: 'Worked out', value: formatTime(input.at) },
    ],
    software: input.software,
  })
}

function hasMillilitres(plan: LadderPlan): boolean {
  return plan.inkPerLevel !== null || plan.modes.every(mode => mode.inkPerLevel !== undefined)
}

function levelText(plan: LadderPlan, level: number): string {
  return plan.levelUnit === '' ? String(level) : `${level} %`
}

function setting(plan: LadderPlan, { stock, mode, level }: Combination): string {
  return `${stock}, ${mode}, level ${levelText(plan, level)}`
}

function costText({ minutes, ink }: { readonly minutes: number; readonly ink: number }, inkUnit: string): string {
  return `${amount(minutes)} min, ${inkUnit === 'ml' ? `${amount(ink)} ml` : `ink level ${amount(ink)}`}`
}

function amount(value: number): string {
  return String(Number(value.toPrecision(3)))
}

function marginText({ margin, tightest }: LadderChoice): string {
  if (margin === null || tightest === null) return ''
  return `; its tightest reading, ${readingKind(tightest).label.toLowerCase()}, lies ${margin.toFixed(1)} times its uncertainty inside the limit`
}

function missingText(plan: LadderPlan, missing: readonly Combination[]): string {
  const lines = new Map<string, string[]>()
  for (const { stock, mode, level } of missing) {
    const key = `${stock}, ${mode}`
    lines.set(key, [...(lines.get(key) ?? []), levelText(plan, level)])
  }
  return [...lines].map(([line, levels]) => `${line}: level ${levels.join(', ')}`).join('; ')
}

function stockView(plan: LadderPlan, stock: string, { perStock, bestStock }: LadderResult, inkUnit: string) {
  const answer: LadderAnswer | undefined = perStock[stock]
  const { recommended, safer, closest } = answer ?? { recommended: null, safer: null, closest: null }
  return {
    stock,
    best: bestStock === stock ? 'best' : '',
    recommended:
      recommended === null ? 'nothing passes' : `${recommended.mode}, level ${levelText(plan, recommended.level)}`,
    cost: recommended === null ? '' : costText(recommended, inkUnit),
    safer: safer === null ? '' : `${safer.mode}, level ${levelText(plan, safer.level)}`,
    remark: prose(
      recommended !== null
        ? ''
        : closest === null
          ? 'nothing was read'
          : `closest comes ${setting(plan, closest)}: ${closest.advice}`,
    ),
  }
}

/** The passing region: a row for each stock and mode, a column a level. */
function gridView(plan: LadderPlan, { steps, recommended }: LadderResult) {
  return plan.stocks.flatMap(stock =>
    plan.modes.map(({ name: mode }) => ({
      stock,
      mode,
      cells: plan.levels.map(level => {
        const step = steps.find(s => s.stock === stock && s.mode === mode && s.level === level)
        const chosen =
          recommended !== null &&
          recommended.stock === stock &&
          recommended.mode === mode &&
          recommended.level === level
        return step === undefined
          ? { shape: null, word: 'not read', manner: 'none', chosen: '' }
          : {
              shape: verdictShape(step.verdict),
              word: step.verdict,
              manner: step.verdict,
              chosen: chosen ? ' chosen' : '',
            }
      }),
    })),
  )
}

function curvesOf({ lines }: LadderResult, stock: string): ReadonlyMap<string, LadderCurve> {
  return new Map(
    lines.flatMap(({ stock: own, mode, knee }) =>
      own === stock && knee.kind !== 'untold' && knee.curve !== null ? [[mode, knee.curve] as const] : [],
    ),
  )
}

function kneeText(plan: LadderPlan, knee: LadderKnee): string {
  if (knee.kind === 'untold') return `where ink stops darkening is not told: ${knee.why}`
  if (knee.kind === 'beyond') return knee.why
  const unit = plan.levelUnit === '' ? '' : ' %'
  const to = knee.upper === null ? 'upwards' : `to ${knee.upper.toFixed(1)}${unit}`
  const { label, unit: grown } =
    knee.grows === null ? { label: '', unit: 'um' as const } : readingKind(knee.grows.reading)
  const grows =
    knee.grows === null
      ? ''
      : `; from there on ${label.toLowerCase()} grows instead, by ${knee.grows.perLevel.toFixed(1)} ± ${knee.grows.expanded.toFixed(1)} ${grown} a level`
  return `from level ${knee.level.toFixed(1)}${unit} (95 % interval ${knee.lower.toFixed(1)} ${to}) more ink hardly darkens: it levels off at ${knee.ceiling.value.toFixed(2)} ± ${knee.ceiling.expanded.toFixed(2)} D${grows}`
}

function cropRows(plan: LadderPlan, { steps }: LadderResult) {
  return plan.stocks.flatMap(stock =>
    plan.modes.flatMap(({ name: mode }) => {
      const cells = plan.levels.flatMap(level => {
        const step = steps.find(s => s.stock === stock && s.mode === mode && s.level === level)
        if (step === undefined || step.crop === null) return []
        return [
          {
            source: safe(`data:image/png;base64,${step.crop.pngBase64}`),
            width: step.crop.width,
            height: step.crop.height,
            level: levelText(plan, level),
            shape: verdictShape(step.verdict),
            word: step.verdict,
            density: cellText(step.readings.solidDensity, undefined),
          },
        ]
      })
      return cells.length === 0 ? [] : [{ stock, mode, cells }]
    }),
  )
}

/** Greys of the pictures with their densities, and how deep the scanner tells. */
function densityKey(
  deepest: number | null,
): readonly { readonly density: string; readonly style: Handlebars.SafeString; readonly remark: string }[] {
  const steps = [0, 0.6, 1.2, 1.8, 2.4, 3.0, 3.6, BLACKEST_DENSITY]
  return steps.map(density => {
    const grey = densityGrey(density)
    return {
      density: density.toFixed(1),
      style: safe(`background:rgb(${grey},${grey},${grey})`),
      remark: deepest !== null && density > deepest ? 'beyond the scanner' : '',
    }
  })
}

const AGE_WORDS = { holds: 'holds', bleeds: 'bleeds', unsure: 'not sure', notAsked: '' } as const
const AGE_VERDICTS = { holds: 'pass', bleeds: 'fail', unsure: 'recheck', notAsked: null } as const

function ageView({ stock, days, settings, beyond, growth, limit, verdict }: StockAge) {
  const cell = (name: 'edgeGrowth' | 'fringeGrowth' | 'densityLoss', decimals: number) => {
    const found = growth[name]
    return found === undefined
      ? '–'
      : `${found.value.toFixed(decimals).replace(/^-(0\.0+)$/, '$1')} ± ${found.expanded.toFixed(decimals)}`
  }
  const shape = AGE_VERDICTS[verdict]
  return {
    stock,
    days,
    settings,
    shape: shape === null ? '' : verdictShape(shape),
    word: AGE_WORDS[verdict],
    edge: cell('edgeGrowth', 1),
    fringe: cell('fringeGrowth', 1),
    loss: cell('densityLoss', 2),
    remark:
      limit === null
        ? 'the job type sets no limit on edge growth'
        : `${beyond === 0 ? 'none' : `${beyond} of ${settings}`} of its settings beyond what the job type allows (${limit}\u00a0µm of edge growth)`,
  }
}

function cellText(reading: Reading | undefined, spread: number | undefined): string {
  if (reading === undefined) return '–'
  const { boundWord, value, expanded } = formatReading(reading, 2, MANNER)
  const main = boundWord === '' ? `${value} ± ${expanded}` : `${boundWord} ${value}`
  return spread === undefined ? main : `${main} (s ${Number(spread.toPrecision(2))})`
}

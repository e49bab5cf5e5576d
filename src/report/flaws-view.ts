import type Handlebars from 'handlebars'
import type { Flaw, FlawKind, FlawRate, SkippedReason } from '../model/flaw.js'
import type { MeasuredScan } from '../model/measured.js'
import type { SiteSettings } from '../model/site.js'
import { flawMap, flawMark } from './flaw-map.js'
import { formatLength } from './format-place.js'

const NAMES: Readonly<Record<FlawKind, { readonly one: string; readonly many: string }>> = {
  pinhole: { one: 'Pinhole', many: 'Pinholes' },
  scratch: { one: 'Scratch', many: 'Scratches' },
  missingNozzle: { one: 'Missing nozzle', many: 'Missing nozzle lines' },
  thinSpot: { one: 'Thin spot', many: 'Thin spots' },
  speck: { one: 'Speck', many: 'Specks' },
  hair: { one: 'Hair', many: 'Hairs' },
}

const SKIPPED: Readonly<Record<SkippedReason, string>> = {
  halftone: 'in halftones (which dot is missing only the artwork tells)',
  border: 'within 1 mm of the film’s edge or the scan’s end',
  midTone: 'in half-tones without dots',
}

/** Upper ends of the size classes, um: below what fine mesh resolves, below a 55 line dot of 9 %, below what is seen at arm's length. */
const CLASSES = [50, 100, 200, 400] as const

/** Flaws listed in the table; the record and the map have more. */
const MOST_ROWS = 24

/** What the report says of flaws: a line, a map, sizes, rates and the largest. Null when nobody looked. */
export function flawsView(measured: MeasuredScan, unit: SiteSettings['lengthUnit']) {
  const { flaws } = measured
  if (flaws === undefined) return null
  const { list, counts } = flaws
  const kinds = (Object.keys(NAMES) as FlawKind[]).filter(kind => counts[kind] > 0)
  const total = kinds.reduce((sum, kind) => sum + counts[kind], 0)
  return {
    tooMany: flaws.tooMany,
    none: total === 0,
    looked: `${area(flaws.inspectedMm2.solid)} of ink and ${area(flaws.inspectedMm2.clear)} of clear film were looked at, every pixel; spots of ${Math.round(flaws.leastUm)}\u00a0µm and more are found.`,
    skipped: (Object.entries(flaws.skippedMm2) as [SkippedReason, number][]).map(
      ([reason, mm2]) => `${area(mm2)} ${SKIPPED[reason]}`,
    ),
    counts: kinds.map(kind => ({
      mark: flawMark(kind),
      name: counts[kind] === 1 ? NAMES[kind].one : NAMES[kind].many,
      count: counts[kind],
      dust: list.filter(flaw => flaw.kind === kind && flaw.possibleDust).length,
      classes: list.length < total ? [] : classesOf(list.filter(flaw => flaw.kind === kind)),
    })),
    classes: [
      ...CLASSES.map((to, k) => (k === 0 ? `below ${to}` : `${CLASSES[k - 1]}–${to}`)),
      `${CLASSES.at(-1)} and more`,
    ],
    rates: [
      rateWords(flaws.rates.light, 'of ink', 'light'),
      rateWords(flaws.rates.dark, 'of clear film', 'dark'),
    ].filter(words => words !== ''),
    map: total === 0 ? null : flawMap(measured),
    rows: list.slice(0, MOST_ROWS).map((flaw, k) => rowOf(flaw, k + 1, unit)),
    left: total > MOST_ROWS ? total - Math.min(MOST_ROWS, list.length) : 0,
    crops: measured.crops
      .filter(crop => crop.id.startsWith('flaw-'))
      .map(crop => {
        const flaw = list.find(one => one.id === crop.id)
        return {
          source: `data:image/png;base64,${crop.pngBase64}`,
          width: crop.width,
          height: crop.height,
          aspect: (crop.width / crop.height).toFixed(4),
          number: crop.id.slice('flaw-'.length),
          caption: flaw === undefined ? crop.caption : `${NAMES[flaw.kind].one}, ${sizeOf(flaw)}`,
        }
      }),
  }
}

function rowOf(flaw: Flaw, number: number, unit: SiteSettings['lengthUnit']) {
  return {
    number,
    mark: flawMark(flaw.kind) as Handlebars.SafeString,
    name: NAMES[flaw.kind].one,
    size: sizeOf(flaw),
    leak: `${significant(flaw.leakedMm2)}\u00a0mm²`,
    place:
      flaw.filmMm === null
        ? ''
        : `${formatLength(flaw.filmMm.x, unit)} from the film’s left, ${formatLength(flaw.filmMm.y, unit)} from its top`,
    remark: [
      ...(flaw.possibleDust ? ['may be dust'] : []),
      ...(flaw.members > 1 ? [`${flaw.members} spots together`] : []),
    ].join('; '),
  }
}

/** Diameter with U; of a long one length and width. */
function sizeOf(flaw: Flaw): string {
  if (flaw.lengthMm !== null && flaw.widthUm !== null)
    return `${flaw.lengthMm.toFixed(1)}\u00a0mm long, ${Math.max(1, Math.round(flaw.widthUm))}\u00a0µm wide`
  return `${Math.round(flaw.diameterUm)} ± ${Math.max(1, Math.round(flaw.expandedUm))}\u00a0µm`
}

function classesOf(list: readonly Flaw[]): string[] {
  return [0, ...CLASSES].map((from, k) => {
    const to = CLASSES[k] ?? Number.POSITIVE_INFINITY
    const count = list.filter(flaw => flaw.diameterUm >= from && flaw.diameterUm < to).length
    return count === 0 ? '–' : String(count)
  })
}

function rateWords(rate: FlawRate | null, where: string, kind: string): string {
  if (rate === null) return ''
  return `${significant(rate.perDm2)} ${kind} flaws a square decimetre ${where} (${significant(rate.low)} to ${significant(rate.high)}, 95\u00a0%)`
}

function area(mm2: number): string {
  return mm2 >= 1000 ? `${(mm2 / 100).toFixed(0)}\u00a0cm²` : `${(mm2 / 100).toFixed(1)}\u00a0cm²`
}

function significant(value: number): string {
  return value === 0 ? '0' : String(Number(value.toPrecision(2)))
}

import type { FlawKind } from '../model/flaw.js'
import type { Growth } from '../model/growth.js'
import type { Inspection } from '../model/inspection.js'
import type { MeasuredScan, Picture } from '../model/measured.js'
import { formatReading, type Manner, readingKind } from './format-reading.js'
import { formatDay } from './format-time.js'

/** The names of a growth, as rows: the last is no reading that a limit can name. */
const ROWS = ['edgeGrowth', 'fringeGrowth', 'spreadGrowth', 'densityLoss'] as const

/** What changed since the first scan of this positive: numbers and the same stroke before and after. Null where nothing was compared. */
export function growthView(
  { growth, standing }: Inspection,
  { comparison, flaws: measuredFlaws }: MeasuredScan,
  manner: Manner,
) {
  if (growth === null) return null
  const compared = comparison?.outcome === 'compared' ? comparison : null
  const crops = compared?.crops ?? null
  return {
    since: formatDay(growth.baseline.scannedAt),
    days: daysText(growth.days),
    baseline: standing?.kind === 'compared' ? standing.baseline.id : growth.baseline.id,
    rows: ROWS.flatMap(name => rowOf(name, growth, manner)),
    flaws: flawsText(growth, measuredFlaws),
    placed: placedText(growth),
    crops:
      crops === null
        ? []
        : [cropView(crops.before, formatDay(growth.baseline.scannedAt)), cropView(crops.after, 'Now')],
    scale: crops === null ? '' : `${((crops.before.width * crops.umPerPixel) / 1000).toFixed(1)}\u00a0mm wide`,
  }
}

function rowOf(name: (typeof ROWS)[number], growth: Growth, manner: Manner) {
  const reading = growth[name]
  if (reading === undefined) return []
  const kind = name === 'spreadGrowth' ? { label: 'Growth of ink spread', decimals: 1 } : readingKind(name)
  const unchanged = reading.bound === null && Math.abs(reading.value) <= reading.expanded
  return [
    {
      label: kind.label,
      text: formatReading(reading, kind.decimals, manner).text,
      word: unchanged ? 'no change beyond uncertainty' : '',
      count: reading.n === 1 ? 'one place' : `${reading.n} places`,
    },
  ]
}

/** What became of the flaws: sentences; empty where they were not compared. */
function flawsText({ flaws }: Growth, measured: MeasuredScan['flaws']): string[] {
  if (flaws === undefined) return []
  const { fresh, grown, stayed, gone, leastUm } = flaws
  const least = `${Math.round(leastUm)}\u00a0µm or more`
  const numbered = (ids: readonly string[]) => {
    const listed = ids.slice(0, MOST_NAMED).map(id => {
      const flaw = measured?.list.find(one => one.id === id)
      const name = flaw === undefined ? '' : `${FLAW_WORDS[flaw.kind]} `
      return `${name}${id.slice('flaw-'.length)}`
    })
    const more = ids.length - listed.length
    return `${listed.join(', ')}${more > 0 ? ` and ${more} more` : ''}`
  }
  const dust = gone.filter(flaw => flaw.possibleDust || flaw.kind === 'speck' || flaw.kind === 'hair').length
  return [
    fresh.length === 0 ? `No new flaw of ${least}.` : `New (${least}): ${numbered(fresh)}.`,
    ...(grown.length === 0 ? [] : [`Larger than they were: ${numbered(grown)}.`]),
    `${stayed} as before${grown.length > 0 ? ', the larger ones among them' : ''}.`,
    ...(gone.length === 0
      ? []
      : [
          `Gone: ${gone.length}${dust > 0 ? `, of them ${dust} dark ones, which were dust` : ', touched up or closed'}.`,
        ]),
  ]
}

/** Flaws named in a sentence; the map and the record have all. */
const MOST_NAMED = 8

const FLAW_WORDS: Readonly<Record<FlawKind, string>> = {
  pinhole: 'pinhole',
  scratch: 'scratch',
  missingNozzle: 'missing nozzle line',
  thinSpot: 'thin spot',
  speck: 'speck',
  hair: 'hair',
}

function daysText(days: number): string {
  if (days < 1) return 'the same day'
  const whole = Math.round(days)
  return whole === 1 ? 'one day later' : `${whole} days later`
}

function placedText({ placement }: Growth): string {
  const { turnDegrees, mirrored, matched } = placement
  const side = mirrored ? 'other side down, ' : ''
  return `Found by its own pattern: ${side}turned by ${Math.abs(turnDegrees).toFixed(1)}° against the first scan; ${Math.round(100 * matched)} % of the places look as they did.`
}

function cropView(picture: Picture, caption: string) {
  return {
    source: `data:image/png;base64,${picture.pngBase64}`,
    width: picture.width,
    height: picture.height,
    caption,
  }
}

import type { Inspection } from '../model/inspection.js'
import type { JobType } from '../model/job-type.js'
import type { ReadingName } from '../model/reading.js'
import type { FilmUse } from '../model/use.js'
import { growthByUses, type UsedGrowth } from '../trend/growth-by-uses.js'
import { usesBetween } from '../trend/uses-between.js'
import { type Manner, readingKind, shownUnit } from './format-reading.js'
import { formatDay } from './format-time.js'
import { useChart } from './use-chart.js'

/** What use may do to a film: its edges run, its ink thins, its flaws grow in number. Only these are set against use. */
const SET_AGAINST: readonly ReadingName[] = ['edgeGrowth', 'densityLoss', 'scratchCount', 'pinholeCount']
/** Of these the first scan is 0 by what they are. */
const FROM_ZERO: readonly ReadingName[] = ['edgeGrowth', 'densityLoss']
const DAYS_A_MONTH = 365.25 / 12

/**
 * How often the film of the newest scans was used, and what it did to it; null when nobody ever counted a use of it.
 * @param inspections oldest first
 */
export function useView(
  inspections: readonly Inspection[],
  uses: readonly FilmUse[],
  limits: JobType['limits'] | null,
  manner: Manner,
) {
  if (uses.length === 0) return null
  const reprints = inspections.filter(one => one.standing?.kind === 'baseline' && one.standing.reprint)
  const since = reprints.at(-1)?.scannedAt ?? null
  const count = usesBetween(uses, since, null)
  const print = inspections.filter(
    one => one.standing?.kind !== 'apart' && (since === null || Date.parse(one.scannedAt) >= Date.parse(since)),
  )
  return {
    says: `Used ${count === 1 ? 'once' : `${count} times`}${since === null ? '' : ` since it was printed anew (first scanned on ${formatDay(since)})`}.`,
    last: formatDay([...uses].sort((a, b) => Date.parse(a.at) - Date.parse(b.at)).at(-1)!.at),
    charts: SET_AGAINST.flatMap(name => chartOf(name, print, uses, since, limits, manner)),
  }
}

function chartOf(
  name: ReadingName,
  inspections: readonly Inspection[],
  uses: readonly FilmUse[],
  since: string | null,
  limits: JobType['limits'] | null,
  manner: Manner,
) {
  const { label, unit } = readingKind(name)
  const shown = shownUnit(unit, manner)
  const newest = inspections.at(-1)
  const read = inspections.flatMap(one => {
    const reading = one.readings[name]
    return reading === undefined || reading.bound !== null
      ? []
      : [{ one, reading, uses: usesBetween(uses, since, one.scannedAt) }]
  })
  if (read.length < 2 || new Set(read.map(point => point.uses)).size < 2) return []
  const told = FROM_ZERO.includes(name)
    ? growthByUses(
        read.flatMap(({ one, reading, uses: upTo }) =>
          one.growth === null
            ? []
            : [
                {
                  days: one.growth.days,
                  uses: upTo - usesBetween(uses, since, one.growth.baseline.scannedAt),
                  value: reading.value,
                  standard: reading.expanded / 2,
                },
              ],
        ),
      )
    : null
  const says =
    told === null ? '' : ` ${growthSays(told, value => Number((value * shown.factor).toPrecision(2)), shown.label)}`
  return [
    {
      chart: useChart(
        read.map(({ one, reading, uses: upTo }) => ({
          uses: upTo,
          value: reading.value * shown.factor,
          expanded: reading.expanded * shown.factor,
          today: one.id === newest?.id,
        })),
        limits?.[name] ?? null,
        told?.kind === 'use' ? told.rate * shown.factor : null,
        shown.label,
        `${label} against uses`,
      ),
      caption: `${label} against use.${says}`,
    },
  ]
}

/** One sentence. @param amount a rate in the unit shown */
function growthSays(told: UsedGrowth, amount: (value: number) => number, unit: string): string {
  switch (told.kind) {
    case 'use':
      return `It goes with use, not with age: ${amount(told.rate)} ± ${amount(told.expanded)} ${unit} a use.`
    case 'age':
      return `It goes with age, not with use: ${amount(DAYS_A_MONTH * told.rate)} ± ${amount(DAYS_A_MONTH * told.expanded)} ${unit} a month.`
    case 'together':
      return 'It grows, but use and age rose together: which of them it goes with is not told.'
    case 'none':
      return 'No growth beyond its uncertainty, with use or with age.'
    case 'tooFew':
      return `Whether it goes with use is not told: ${told.because}.`
  }
}

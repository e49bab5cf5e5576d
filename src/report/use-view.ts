import type { JobType } from '../model/job-type.js'
import type { UsedGrowth, UsedReading, UseHistory } from '../model/use.js'
import { type Manner, readingKind, shownUnit } from './format-reading.js'
import { formatDay } from './format-time.js'
import { useChart } from './use-chart.js'

const DAYS_A_MONTH = 365.25 / 12

/** How often a film was used, and what it did to it, in words and charts. */
export function useView(
  { count, since, last, readings }: UseHistory,
  limits: JobType['limits'] | null,
  manner: Manner,
) {
  return {
    says: `Used ${count === 1 ? 'once' : `${count} times`}${since === null ? '' : ` since it was printed anew (first scanned on ${formatDay(since)})`}.`,
    last: formatDay(last),
    charts: readings.map(one => chartOf(one, limits, manner)),
  }
}

function chartOf({ reading, points, growth }: UsedReading, limits: JobType['limits'] | null, manner: Manner) {
  const { label, unit } = readingKind(reading)
  const shown = shownUnit(unit, manner)
  const amount = (value: number) => Number((value * shown.factor).toPrecision(2))
  return {
    chart: useChart(
      points.map(({ uses, value, expanded, newest }) => ({
        uses,
        value: value * shown.factor,
        expanded: expanded * shown.factor,
        today: newest,
      })),
      limits?.[reading] ?? null,
      growth?.kind === 'use' ? growth.rate * shown.factor : null,
      shown.label,
      `${label} against uses`,
    ),
    caption: `${label} against use.${growth === null ? '' : ` ${growthSays(growth, amount, shown.label)}`}`,
  }
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

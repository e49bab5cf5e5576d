import { normalCdf } from '../imaging/normal.js'
import { type FittedGrowth, fitGrowth, type GrowthLaw, type GrowthSample, type GrowthStart } from './fit-growth.js'

/** Fewest scans, the baseline among them, and shortest span that a forecast is made from. The project's own rule. */
const FEWEST_SCANS = 3
const FEWEST_DAYS = 7
/** Growth of less than two standard uncertainties is noise: chance shows it once in 44 unchanged films. */
const BEYOND_NOISE = 2
/** Nobody keeps a film by a forecast of more than ten years. Common practice, no source. */
export const HORIZON_DAYS = 3653
/** Ends of the 80 % interval. */
const TAIL = 0.1

/** Ages in days since the baseline. Earliest to latest holds with 80 %; latest null: perhaps never (or not in ten years). */
export interface LimitForecast {
  readonly law: GrowthLaw
  readonly on: number
  readonly earliest: number
  readonly latest: number | null
  /** Growth at an age: the chosen law, and the 80 % band of all laws by their weights. */
  band(days: number): { readonly value: number; readonly low: number; readonly high: number }
}

export type LimitAnswer =
  | { readonly forecast: LimitForecast }
  | { readonly refused: 'fewScans' | 'shortSpan' | 'noGrowth' | 'farOff'; readonly because: string }

/**
 * When growth reaches a limit. The law is the one of least small-sample information criterion; the interval is that of both growing laws together,
 * each with its Akaike weight, since a few weeks seldom tell a root from a line. Refuses under 3 scans, under 7 days, where no change explains
 * the scans as well, and where the limit is more than ten years away.
 * @param samples growth at each later scan; the baseline is not among them
 * @param limit largest growth allowed, unit of the samples, above 0
 * @throws RangeError for a limit that is not above 0
 */
export function forecastLimit(
  samples: readonly GrowthSample[],
  start: GrowthStart | null,
  limit: number,
  laws: readonly GrowthLaw[] = ['none', 'line', 'diffusion'],
): LimitAnswer {
  if (!(limit > 0 && Number.isFinite(limit))) throw new RangeError(`limit of growth must be above 0; got ${limit}`)
  const scans = samples.length + 1
  if (!(scans >= FEWEST_SCANS))
    return {
      refused: 'fewScans',
      because: `${scans} ${scans === 1 ? 'scan' : 'scans'} of the ${FEWEST_SCANS} that it takes`,
    }
  const span = Math.max(...samples.map(s => s.days))
  if (!(span >= FEWEST_DAYS))
    return { refused: 'shortSpan', because: `the scans are ${round(span)} days apart, and it takes ${FEWEST_DAYS}` }
  const fits = fitGrowth(samples, start, laws)
  const best = fits[0]
  const now = best?.at(span)
  if (best === undefined || best.law === 'none' || now === undefined || !(now.value > BEYOND_NOISE * now.standard))
    return { refused: 'noGrowth', because: 'no growth beyond the uncertainty of the scans' }
  const on = best.reaches(limit)
  if (on === null || !(on <= HORIZON_DAYS))
    return { refused: 'farOff', because: 'the limit is more than ten years away' }
  const growing = weighted(fits.filter(fit => fit.law !== 'none' && fit.rate > 0))
  const reached = (days: number) =>
    growing.reduce((sum, { fit, weight }) => {
      const { value, standard } = fit.at(days)
      return sum + weight * below(limit, value, standard)
    }, 0)
  return {
    forecast: {
      law: best.law,
      on,
      earliest: Math.min(on, firstAge(reached, TAIL) ?? on),
      latest: latestOf(firstAge(reached, 1 - TAIL), on),
      band(days) {
        const { value } = best.at(days)
        const each = growing.map(({ fit, weight }) => ({ ...fit.at(days), weight }))
        return { value, low: mixed(each, TAIL), high: mixed(each, 1 - TAIL) }
      },
    },
  }
}

interface Weighted {
  readonly fit: FittedGrowth
  readonly weight: number
}

/** Akaike weights. */
function weighted(fits: readonly FittedGrowth[]): readonly Weighted[] {
  const least = Math.min(...fits.map(fit => fit.aicc))
  const raw = fits.map(fit => Math.exp((least - fit.aicc) / 2))
  const sum = raw.reduce((a, b) => a + b, 0)
  return fits.map((fit, i) => ({ fit, weight: raw[i]! / sum }))
}

/** Chance that growth of this value has reached the limit. */
function below(limit: number, value: number, standard: number): number {
  return standard > 0 ? normalCdf((value - limit) / standard) : value >= limit ? 1 : 0
}

/** First age at which the chance is reached: by whole days, then between them. */
function firstAge(chance: (days: number) => number, wanted: number): number | null {
  let before = 0
  // Steps grow with age: a hundredth of it is finer than any interval.
  for (let days = 0.25; before < HORIZON_DAYS; days = Math.min(HORIZON_DAYS, days + Math.max(0.25, days / 100))) {
    if (chance(days) >= wanted) {
      let low = before
      let high = days
      for (let i = 0; i < 30; i++) {
        const middle = (low + high) / 2
        if (chance(middle) >= wanted) high = middle
        else low = middle
      }
      return high
    }
    before = days
  }
  return null
}

function latestOf(age: number | null, on: number): number | null {
  return age === null ? null : Math.max(on, age)
}

/** Quantile of the laws' normal distributions together. */
function mixed(
  each: readonly { readonly value: number; readonly standard: number; readonly weight: number }[],
  wanted: number,
): number {
  let low = Math.min(...each.map(e => e.value - 6 * e.standard))
  let high = Math.max(...each.map(e => e.value + 6 * e.standard))
  for (let i = 0; i < 40; i++) {
    const middle = (low + high) / 2
    const chance = each.reduce((sum, e) => sum + e.weight * (1 - below(middle, e.value, e.standard)), 0)
    if (chance >= wanted) high = middle
    else low = middle
  }
  return (low + high) / 2
}

function round(days: number): string {
  return days.toFixed(1).replace(/\.0$/, '')
}

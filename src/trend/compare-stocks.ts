import type {
  GrowthRate,
  ProcessFilm,
  StockComparison,
  StockDifference,
  StockGrowth,
  StockReading,
} from '../model/process.js'
import { studentT } from './student-t.js'
import { theilSen } from './theil-sen.js'

const DAYS_A_MONTH = 365.25 / 12
/** A younger scan tells more of its own uncertainty than of the film. */
const FEWEST_DAYS = 7
/** Films a stock, or pairs, below which an interval says nothing: with 2 it is 6 times as wide as with 4. */
const FEWEST_FILMS = 3
/** Films of one artwork are at like ages within this factor: growth slows with age, so ages must match. */
const LIKE_AGE = 1.5

/** One film's life: growth since its first scan. */
interface Life {
  readonly stock: string
  /** What it shows: films that share it can be paired. */
  readonly subject: string
  /** By days; days of `FEWEST_DAYS` or more. */
  readonly growth: readonly { readonly days: number; readonly value: number }[]
  /** Units a month. */
  readonly rate: number
}

/**
 * How fast each stock's films grow, and how much faster than another's. A film's rate is the middle slope between all its scans, the first
 * one at 0 among them (Theil-Sen); a stock's is the mean of its films with Student's t, so that films, not scans, are what was drawn by
 * chance. Two stocks are compared in pairs of one artwork (or one positive, printed anew) at like ages where there are 3 pairs, else by their
 * means (Welch, Biometrika 34, 28, 1947, from memory). All intervals 95 %, each by itself.
 * @param films in any order; only compared ones with a stock count; of several inspections of one scan the last one
 */
export function compareStocks(films: readonly ProcessFilm[], reading: StockReading): StockComparison {
  const byStock = new Map<string, Life[]>()
  for (const life of livesOf(films, reading)) {
    const before = byStock.get(life.stock)
    if (before === undefined) byStock.set(life.stock, [life])
    else before.push(life)
  }
  const names = [...byStock.keys()].sort()
  const stocks = names.map((stock): StockGrowth => {
    const lives = byStock.get(stock)!
    const scans = lives.reduce((sum, life) => sum + life.growth.length, 0)
    if (lives.length < FEWEST_FILMS)
      return { stock, films: lives.length, scans, rate: null, because: tooFew(lives.length) }
    return { stock, films: lives.length, scans, rate: meanRate(lives.map(life => life.rate)), because: null }
  })
  const differences: StockDifference[] = []
  for (let i = 0; i < names.length; i++)
    for (let j = i + 1; j < names.length; j++)
      differences.push(differenceOf(names[i]!, byStock.get(names[i]!)!, names[j]!, byStock.get(names[j]!)!))
  return { reading, stocks, differences }
}

function livesOf(films: readonly ProcessFilm[], reading: StockReading): readonly Life[] {
  const byId = new Map(films.map(film => [film.id, film]))
  const lives = new Map<
    string,
    { stock: string; subject: string; scans: Map<string, { days: number; value: number }> }
  >()
  for (const film of films) {
    const { baseline, days, standing } = film
    const found = film.readings[reading]
    if (standing !== 'compared' || baseline === null || days === null || found === undefined) continue
    if (found.bound !== null || !(days >= FEWEST_DAYS)) continue
    const first = byId.get(baseline)
    const stock = first?.stock ?? film.stock
    if (stock === null) continue
    let life = lives.get(baseline)
    if (life === undefined) {
      const subject = first?.artwork ?? film.artwork ?? `positive ${film.positive}`
      life = { stock, subject, scans: new Map() }
      lives.set(baseline, life)
    }
    life.scans.set(film.sha256, { days, value: found.value })
  }
  return [...lives.values()].map(({ stock, subject, scans }) => {
    const growth = [...scans.values()].sort((a, b) => a.days - b.days)
    return { stock, subject, growth, rate: rateOf(growth) }
  })
}

/** Units a month. */
function rateOf(growth: Life['growth']): number {
  return DAYS_A_MONTH * theilSen([[0, 0], ...growth.map(({ days, value }) => [days, value] as const)]).slope
}

function meanRate(rates: readonly number[]): GrowthRate {
  const { mean, variance } = spreadOf(rates)
  return within(mean, Math.sqrt(variance / rates.length), rates.length - 1)
}

function differenceOf(first: string, mine: readonly Life[], second: string, others: readonly Life[]): StockDifference {
  const pairs = pairedDifferences(mine, others)
  if (pairs.length >= FEWEST_FILMS) return told(first, second, 'paired', pairs.length, meanRate(pairs))
  if (mine.length < FEWEST_FILMS || others.length < FEWEST_FILMS) {
    const [fewer, count] = mine.length < FEWEST_FILMS ? [first, mine.length] : [second, others.length]
    return {
      first,
      second,
      manner: 'none',
      pairs: pairs.length,
      difference: null,
      verdict: 'tooLittle',
      says: `Too little to tell ${first} and ${second} apart: ${fewer} has ${tooFew(count)}.`,
    }
  }
  const [a, b] = [spreadOf(mine.map(life => life.rate)), spreadOf(others.map(life => life.rate))]
  const [va, vb] = [a.variance / mine.length, b.variance / others.length]
  const sum = va + vb
  const freedom = sum > 0 ? sum ** 2 / (va ** 2 / (mine.length - 1) + vb ** 2 / (others.length - 1)) : Infinity
  return told(first, second, 'unpaired', 0, within(a.mean - b.mean, Math.sqrt(sum), freedom))
}

/** One difference of rates for each subject on both stocks: of the oldest scans at like ages. */
function pairedDifferences(mine: readonly Life[], others: readonly Life[]): readonly number[] {
  const differences: number[] = []
  const used = new Set<Life>()
  const bySubject = new Map<string, Life[]>()
  for (const other of others) bySubject.set(other.subject, [...(bySubject.get(other.subject) ?? []), other])
  for (const life of mine) {
    let best: { other: Life; age: number; difference: number } | null = null
    for (const other of bySubject.get(life.subject) ?? []) {
      if (used.has(other)) continue
      for (const a of life.growth)
        for (const b of other.growth) {
          const ratio = a.days > b.days ? a.days / b.days : b.days / a.days
          const age = Math.min(a.days, b.days)
          if (ratio <= LIKE_AGE && (best === null || age > best.age))
            best = { other, age, difference: DAYS_A_MONTH * (a.value / a.days - b.value / b.days) }
        }
    }
    if (best === null) continue
    used.add(best.other)
    differences.push(best.difference)
  }
  return differences
}

function told(
  first: string,
  second: string,
  manner: 'paired' | 'unpaired',
  pairs: number,
  difference: GrowthRate,
): StockDifference {
  const verdict = difference.lower > 0 ? 'firstFaster' : difference.upper < 0 ? 'secondFaster' : 'noDifferenceSeen'
  const how = manner === 'paired' ? `${pairs} pairs of one artwork on both` : 'different films on each'
  const says =
    verdict === 'noDifferenceSeen'
      ? `No difference seen between ${first} and ${second} (${how}).`
      : `${verdict === 'firstFaster' ? first : second} grows faster than ${verdict === 'firstFaster' ? second : first} (${how}).`
  return { first, second, manner, pairs, difference, verdict, says }
}

function tooFew(films: number): string {
  return `${films} ${films === 1 ? 'film' : 'films'} scanned again after ${FEWEST_DAYS} days or more, where ${FEWEST_FILMS} are needed`
}

function spreadOf(values: readonly number[]): { readonly mean: number; readonly variance: number } {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length
  return { mean, variance: values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1) }
}

function within(value: number, standard: number, freedom: number): GrowthRate {
  const reach = standard === 0 ? 0 : studentT(0.05, freedom) * standard
  return { value, lower: value - reach, upper: value + reach }
}

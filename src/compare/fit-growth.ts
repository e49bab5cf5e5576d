import { fitLeastSquares } from '../imaging/fit-least-squares.js'

/** Growth of one film since its baseline, from one scan. */
export interface GrowthSample {
  /** Days since the baseline's scan, above 0. */
  readonly days: number
  readonly value: number
  /** Combined standard uncertainty, above 0. */
  readonly standard: number
}

/** What a sigma stands for at the start: the growing reading at age 0, in its own unit (`edgeShift` x ink spread). */
export interface GrowthStart {
  readonly value: number
  readonly standard: number
}

/**
 * `none`: no change. `line`: as much each day. `diffusion`: `sqrt(a^2 + b t) - a`, a reading that goes with sigma,
 * `sigma^2 = sigma0^2 + 2 D t` (Fick), so b is 2 D k^2 and a is k sigma0.
 */
export type GrowthLaw = 'none' | 'line' | 'diffusion'

export interface FittedGrowth {
  readonly law: GrowthLaw
  /** Slope a day (line), b a day (diffusion), 0 (none). */
  readonly rate: number
  /** a of diffusion; null for the others. */
  readonly start: number | null
  readonly chiSquare: number
  /** Small-sample information criterion: chi^2 + 2 p + 2 p (p + 1) / (n - p - 1). */
  readonly aicc: number
  /** Growth at an age in days, with its standard uncertainty. */
  at(days: number): { readonly value: number; readonly standard: number }
  /** Age at which growth reaches `limit`, days; null: never. */
  reaches(limit: number): number | null
}

/**
 * The laws that growth since a baseline may follow, each fitted to all scans with their uncertainties as weights; the best first.
 *
 * Growth is a difference to one baseline, so the baseline's own error is common to all of it: half the variance of the surest growth is taken
 * as the baseline's (both scans alike) and fitted as a level held to 0 by it. Where scans scatter more than their uncertainties say, the
 * uncertainty of the fit grows with them (Birge). The criterion (Hurvich & Tsai, Biometrika 76, 297, 1989; Burnham & Anderson, 2002; from
 * memory) counts scans with the baseline and the parameters of growth; a law with too many for so few scans is left out.
 * @param samples 1 or more, in any order, finite, days and standards above 0
 * @param start a of diffusion, when the baseline's ink spread is known; null: fitted too, from 4 scans with the baseline
 * @param laws which to try
 * @throws RangeError for samples outside these
 */
export function fitGrowth(
  samples: readonly GrowthSample[],
  start: GrowthStart | null,
  laws: readonly GrowthLaw[] = ['none', 'line', 'diffusion'],
): readonly FittedGrowth[] {
  if (samples.length === 0) throw new RangeError('growth needs one sample at least; got none')
  for (const { days, value, standard } of samples)
    if (!(days > 0 && Number.isFinite(days) && Number.isFinite(value) && standard > 0 && Number.isFinite(standard)))
      throw new RangeError(
        `samples must be finite, with days and standards above 0; got ${JSON.stringify({ days, value, standard })}`,
      )
  if (start !== null && !(start.value > 0 && start.standard > 0 && Number.isFinite(start.value + start.standard)))
    throw new RangeError(`start must be above 0 with a standard above 0; got ${start.value}, ${start.standard}`)
  // The same scans in another order must not differ in the last digit.
  const sorted = [...samples].sort((a, b) => a.days - b.days || a.value - b.value)
  return laws.flatMap(law => fitOne(law, sorted, start)).sort((a, b) => a.aicc - b.aicc)
}

function fitOne(law: GrowthLaw, samples: readonly GrowthSample[], start: GrowthStart | null): FittedGrowth[] {
  const scans = samples.length + 1
  const freeStart = law === 'diffusion' && start === null
  const count = law === 'none' ? 0 : freeStart ? 2 : 1
  if (!(scans - count - 1 > 0)) return []
  const span = Math.max(...samples.map(s => s.days))
  const most = Math.max(...samples.map(s => Math.abs(s.value)), ...samples.map(s => s.standard))
  const shared = Math.min(...samples.map(s => s.standard)) / Math.SQRT2
  const own = samples.map(s => Math.sqrt(s.standard * s.standard - shared * shared))
  const growth = growthOf(law)
  // Parameters: the level of the baseline, then rate over the whole span, then a. Ages count in spans, so all are of the size of the growth.
  const residuals = (p: readonly number[]) => [
    ...samples.map((s, i) => (s.value - p[0]! - growth(p, s.days / span)) / own[i]!),
    p[0]! / shared,
    ...(law === 'diffusion' && start !== null ? [(p[2]! - start.value) / start.standard] : []),
  ]
  const a = start?.value ?? most
  const from = law === 'none' ? [0] : law === 'line' ? [0, 0] : [0, most * (most + 2 * a) * 0.1, a]
  const scale = law === 'none' ? [most] : law === 'line' ? [most, most] : [most, most * (most + 2 * a), a]
  // Below 0 the root is of nothing; a film that shrank has a rate of less than 0.
  const allowed = (p: readonly number[]) =>
    law !== 'diffusion' || (p[2]! > 1e-6 * a && p[2]! ** 2 + Math.min(0, p[1]!) > 1e-9 * a * a)
  const fit = fitLeastSquares(residuals, from, scale, allowed)
  const freedom = samples.length - count
  const scatter = freedom > 0 ? Math.max(1, fit.chiSquare / freedom) : 1
  const parameters = fit.parameters
  const value = (days: number, p: readonly number[] = parameters) => growth(p, days / span)
  return [
    {
      law,
      rate: (parameters[1] ?? 0) / span,
      start: parameters[2] ?? null,
      chiSquare: fit.chiSquare,
      aicc: fit.chiSquare + 2 * count + (2 * count * (count + 1)) / (scans - count - 1),
      at(days) {
        const slope = slopesOf(law, parameters, days / span)
        let variance = 0
        for (let i = 0; i < slope.length; i++)
          for (let j = 0; j < slope.length; j++) variance += slope[i]! * slope[j]! * fit.covariance[i]![j]!
        return { value: value(days), standard: Math.sqrt(Math.max(0, scatter * variance)) }
      },
      reaches(limit) {
        const rate = parameters[1] ?? 0
        if (!(rate > 0)) return null
        const start0 = parameters[2]
        const work = start0 === undefined ? limit : (limit + start0) ** 2 - start0 ** 2
        return (Math.max(0, work) / rate) * span
      },
    },
  ]
}

function growthOf(law: GrowthLaw): (p: readonly number[], age: number) => number {
  if (law === 'none') return () => 0
  if (law === 'line') return (p, age) => p[1]! * age
  return (p, age) => Math.sqrt(Math.max(0, p[2]! ** 2 + p[1]! * age)) - p[2]!
}

/** How growth at an age changes with each parameter. The baseline's level is no growth. */
function slopesOf(law: GrowthLaw, p: readonly number[], age: number): number[] {
  if (law === 'none') return [0]
  if (law === 'line') return [0, age]
  const root = Math.max(1e-12, Math.sqrt(Math.max(0, p[2]! ** 2 + p[1]! * age)))
  return [0, age / (2 * root), p[2]! / root - 1]
}

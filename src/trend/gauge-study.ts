import type {
  Across,
  GaugeComponent,
  GaugeStudy,
  StudyCell,
  StudyTolerance,
  StudyValue,
  VarianceLine,
} from '../model/gauge-study.js'
import { analysisOfVariance, line, meanOf, oneWayAnalysis } from './analysis-of-variance.js'
import { averageAndRange, distinctCategories, rangeLimit, rangeOf } from './average-and-range.js'
import { gaugeVerdict } from './gauge-verdict.js'
import { studyTable } from './study-table.js'
import { varianceInterval } from './variance-interval.js'

export interface GaugeStudyOptions {
  readonly tolerance?: StudyTolerance
  /** `auto`: an interaction no larger than chance (p above 0.25) goes into the repeatability. */
  readonly pooled?: 'auto' | 'never'
  /** How many standard deviations count as the whole spread. */
  readonly studySigmas?: 6
  readonly across?: Across
}

/** Above this p the interaction is taken for chance (common practice, no source; T33 pools at .974). */
const POOLED_ABOVE = 0.25

/** Of the interval of the gauge's standard deviation. */
const CONFIDENCE = 0.9

/**
 * Crossed gauge study by analysis of variance: how much of the scatter of readings is the gauge's (repeatability,
 * and reproducibility between operators or placements) and how much the parts'. All factors random; variance
 * components from expected mean squares, negative ones set to 0 (AIAG Measurement Systems Analysis, 4th edition,
 * figure III-B; Vardeman & VanValkenburg, Technometrics 41, 202, 1999). Assumes the repeats are independent: a film laid
 * down anew each time. With one operator or placement: repeatability and parts only.
 * @param measurements every part by every operator, equally often (2 to 200 parts, 1 to 200 operators, 2 to 200
 *   repeats), in any order, all in one unit
 * @returns components in that unit; percent; a verdict in words
 * @throws ProblemError STUDY_*: see `studyTable`; RangeError for a tolerance whose numbers cannot be
 */
export function gaugeStudy(measurements: readonly StudyValue[], options: GaugeStudyOptions = {}): GaugeStudy {
  const { tolerance = null, pooled: pooling = 'auto', studySigmas: sigmas = 6, across = 'operator' } = options
  if (tolerance !== null) checkTolerance(tolerance)
  const { parts, operators, values } = studyTable(measurements)
  const [a, b, r] = [parts.length, operators.length, values[0]![0]!.length]
  const mean = meanOf(values.flat(2))
  const { analysis, pooled } = b > 1 ? crossed(values, pooling) : oneWay(values)

  const error = analysis.repeatability.meanSquare
  const between = pooled || analysis.interaction === null ? analysis.repeatability : analysis.interaction
  const raw = {
    repeatability: error,
    interaction: analysis.interaction === null || pooled ? null : (analysis.interaction.meanSquare - error) / r,
    operator: analysis.operator === null ? null : (analysis.operator.meanSquare - between.meanSquare) / (a * r),
    part: (analysis.part.meanSquare - between.meanSquare) / (b * r),
  }
  const kept = (variance: number | null) => Math.max(0, variance ?? 0)
  const reproducibility = kept(raw.operator) + kept(raw.interaction)
  const gauge = raw.repeatability + reproducibility
  const part = kept(raw.part)
  const total = gauge + part

  const room = roomOf(tolerance, mean, sigmas)
  const component = (variance: number, below = 0): GaugeComponent => {
    const deviation = Math.sqrt(variance)
    return {
      variance,
      deviation,
      contributionPercent: (100 * variance) / total,
      studyVariation: sigmas * deviation,
      studyVariationPercent: 100 * Math.sqrt(variance / total),
      tolerancePercent: room === null ? null : (100 * room.sigmas * deviation) / room.width,
      clamped: below < 0,
    }
  }
  const ofRaw = (variance: number | null) => (variance === null ? null : component(kept(variance), variance))

  const ranges = values.map(row => row.map(rangeOf))
  const limit = rangeLimit(meanOf(ranges.flat()), r)
  const cells = parts.flatMap((name, i) =>
    operators.map((operator, j): StudyCell => {
      const range = ranges[i]![j]!
      const cell = values[i]![j]!
      return { part: name, operator, values: cell, mean: meanOf(cell), range, flagged: range > limit }
    }),
  )
  const scatters = cells.some(cell => cell.range > 0)

  const study: Omit<GaugeStudy, 'verdict' | 'notes'> = {
    across,
    parts,
    operators,
    repeats: r,
    mean,
    cells,
    rangeLimit: limit,
    analysis,
    pooled,
    components: {
      repeatability: component(raw.repeatability),
      reproducibility: b > 1 ? component(reproducibility) : null,
      operator: ofRaw(raw.operator),
      interaction: ofRaw(raw.interaction),
      gauge: component(gauge),
      part: component(part, raw.part),
      total: component(total),
    },
    distinctCategories: scatters ? distinctCategories(Math.sqrt(part), Math.sqrt(gauge)) : null,
    gaugeInterval: scatters ? gaugeInterval() : null,
    reproducibilityLimit: 1.96 * Math.SQRT2 * Math.sqrt(gauge),
    tolerance,
    room,
    averageAndRange: averageAndRange(values),
  }
  return { ...study, ...gaugeVerdict(study) }

  /** The gauge's variance is a sum of mean squares with known weights, none below 0 (before any is set to 0). */
  function gaugeInterval(): { lower: number; upper: number } {
    const { operator, interaction, repeatability } = analysis
    const term = (weight: number, { meanSquare, degreesOfFreedom }: VarianceLine) => ({
      weight,
      meanSquare,
      degreesOfFreedom,
    })
    const terms =
      operator === null || interaction === null
        ? [term(1, repeatability)]
        : pooled
          ? [term(1 - 1 / (a * r), repeatability), term(1 / (a * r), operator)]
          : [term(1 - 1 / r, repeatability), term((1 - 1 / a) / r, interaction), term(1 / (a * r), operator)]
    const { lower, upper } = varianceInterval(terms, CONFIDENCE)
    return { lower: Math.sqrt(Math.min(lower, gauge)), upper: Math.sqrt(Math.max(upper, gauge)) }
  }
}

type Worked = Pick<GaugeStudy, 'analysis' | 'pooled'>

function crossed(values: readonly (readonly (readonly number[])[])[], pooling: 'auto' | 'never'): Worked {
  const { first, second, interaction, within, total } = analysisOfVariance(values)
  const pooled = pooling === 'auto' && interaction.p !== null && interaction.p > POOLED_ABOVE
  if (!pooled)
    return {
      analysis: { part: first, operator: second, interaction, repeatability: within, within, total },
      pooled,
    }
  const repeatability = line(
    within.sumOfSquares + interaction.sumOfSquares,
    within.degreesOfFreedom + interaction.degreesOfFreedom,
    null,
  )
  return {
    analysis: {
      part: line(first.sumOfSquares, first.degreesOfFreedom, repeatability),
      operator: line(second.sumOfSquares, second.degreesOfFreedom, repeatability),
      interaction: line(interaction.sumOfSquares, interaction.degreesOfFreedom, within),
      repeatability,
      within,
      total,
    },
    pooled,
  }
}

function oneWay(values: readonly (readonly (readonly number[])[])[]): Worked {
  const { between, within, total } = oneWayAnalysis(values.map(row => row[0]!))
  return {
    analysis: { part: between, operator: null, interaction: null, repeatability: within, within, total },
    pooled: false,
  }
}

function checkTolerance({ min, max, aim }: StudyTolerance): void {
  for (const [name, value] of Object.entries({ min, max, aim }))
    if (value !== undefined && !Number.isFinite(value))
      throw new RangeError(`tolerance.${name} must be a finite number; got ${value}`)
  if (min !== undefined && max !== undefined && !(min < max))
    throw new RangeError(`tolerance.min must be below tolerance.max; got ${min} and ${max}`)
}

/**
 * The room a gauge has: between two limits with the whole spread; with one limit from it to the aim, else to the mean of
 * the study, with half the spread (AIAG Measurement Systems Analysis for one-sided limits, from memory).
 */
function roomOf(tolerance: StudyTolerance | null, mean: number, sigmas: number): GaugeStudy['room'] {
  if (tolerance === null) return null
  const { min, max, aim } = tolerance
  if (min !== undefined && max !== undefined) return { width: max - min, sigmas, from: 'limits' }
  const away = (target: number) => (min !== undefined ? target - min : max !== undefined ? max - target : 0)
  if (aim !== undefined && away(aim) > 0) return { width: away(aim), sigmas: sigmas / 2, from: 'aim' }
  return away(mean) > 0 ? { width: away(mean), sigmas: sigmas / 2, from: 'mean' } : null
}

import type { GaugeStudy, GaugeVerdict, GaugeWord } from '../model/gauge-study.js'

/** A gauge that takes up less than a tenth of the room is good, more than three tenths too much (common practice, no source). */
const GOOD_BELOW = 10
const POOR_ABOVE = 30

/** Flagged ranges named one by one; chance alone flags about one range in a hundred. */
const MOST_FLAGGED_NAMED = 5

/** With fewer groups than this a gauge sorts but does not measure (common practice, no source). */
const FEWEST_CATEGORIES = 5

/**
 * Whether the gauge is good enough for its tolerance (or, without one, to tell the parts of the study apart), in words
 * that say what to do, and what else a reader must know.
 */
export function gaugeVerdict(study: Omit<GaugeStudy, 'verdict' | 'notes'>): {
  readonly verdict: GaugeVerdict
  readonly notes: readonly string[]
} {
  return { verdict: verdictOf(study), notes: notesOf(study) }
}

/** The word for a share; NaN never gets a good one. */
export function wordFor(percent: number): Exclude<GaugeWord, 'undecided'> {
  return percent < GOOD_BELOW ? 'good' : percent <= POOR_ABOVE ? 'marginal' : 'poor'
}

function verdictOf(study: Omit<GaugeStudy, 'verdict' | 'notes'>): GaugeVerdict {
  const { components, tolerance, room, distinctCategories } = study
  const basis = tolerance === null ? 'studyVariation' : 'tolerance'
  const undecided = (why: string, next: string): GaugeVerdict => ({
    word: 'undecided',
    basis,
    percent: null,
    why,
    next,
  })
  if (distinctCategories === null)
    return undecided(
      'Every repeat gave exactly the same value, so this study cannot tell how much the gauge scatters.',
      'Write the values with more decimals, check that the repeats are not copies of one scan, and run the study again.',
    )
  if (tolerance !== null && tolerance.min === undefined && tolerance.max === undefined)
    return undecided(
      'The job type sets no limit on this reading, so there is no tolerance to hold the gauge against.',
      'Name a job type that limits this reading, or run the study without a tolerance.',
    )
  if (tolerance !== null && room === null)
    return undecided(
      `The parts of this study lie on average beyond the limit (mean ${short(study.mean)}, limit ${short((tolerance.min ?? tolerance.max)!)}), so there is no room to hold the gauge against.`,
      'Give the limit an aim in the job type, or study parts that keep the limit.',
    )
  const percent =
    components.gauge.tolerancePercent === null
      ? components.gauge.studyVariationPercent
      : components.gauge.tolerancePercent
  const word = wordFor(percent)
  const ofWhat =
    basis === 'studyVariation'
      ? 'the spread of all readings in this study'
      : room!.from === 'limits'
        ? 'the tolerance'
        : room!.from === 'aim'
          ? 'the room between limit and aim'
          : 'the room between the limit and the mean of these parts'
  const task = basis === 'tolerance' ? 'for this tolerance' : 'to tell these parts apart'
  const share = `The gauge takes up ${percentText(percent)} of ${ofWhat}`
  switch (word) {
    case 'good':
      return {
        word,
        basis,
        percent,
        why: `${share}: good enough ${task}${study.operators.length === 1 ? `, as far as one ${study.across} can show` : ''}.`,
        next: 'Use it. Study it again after a repair, a new lamp or another scanner setting.',
      }
    case 'marginal':
      return {
        word,
        basis,
        percent,
        why: `${share}: it will do ${task} where a wrong answer costs little, and not where it costs much.`,
        next: `${remedy(study)} Until then scan a film twice before you refuse it.`,
      }
    case 'poor':
      return {
        word,
        basis,
        percent,
        why: `${share}: not good enough ${task}.`,
        next: `${remedy(study)} Until then judge no film by this reading alone.`,
      }
  }
}

/** What to mend first: the larger of the two sources. */
function remedy(study: Omit<GaugeStudy, 'verdict' | 'notes'>): string {
  const { repeatability, reproducibility } = study.components
  if (reproducibility === null || repeatability.variance >= reproducibility.variance)
    return 'Most of it is scatter between repeats: clean glass and film, let the lamp warm up, switch off automatic exposure, and take the mean of several scans.'
  return study.across === 'operator'
    ? 'Most of it is between operators: agree on one way to lay and scan a film, write it down, and study it again.'
    : 'Most of it is between placements: lay every film in the same place and the same way round, and study it again.'
}

function notesOf(study: Omit<GaugeStudy, 'verdict' | 'notes'>): string[] {
  const { across, parts, operators, components, gaugeInterval, distinctCategories, analysis } = study
  const notes: string[] = []
  if (operators.length === 1)
    notes.push(
      `Only one ${across}: this study shows repeatability and parts only. Differences between ${across}s are not in it, so the gauge's share is a lower bound.`,
    )
  const flagged = study.cells.filter(cell => cell.flagged)
  for (const cell of flagged.slice(0, MOST_FLAGGED_NAMED))
    notes.push(
      `Part ${cell.part} by ${cell.operator}: its repeats lie ${short(cell.range)} apart, more than the control limit of ${short(study.rangeLimit)}. Find what happened there and measure it again.`,
    )
  if (flagged.length > MOST_FLAGGED_NAMED)
    notes.push(
      `${flagged.length - MOST_FLAGGED_NAMED} more ranges lie above the control limit, of ${study.cells.length}: the table of values marks them.`,
    )
  if (
    analysis.interaction !== null &&
    !study.pooled &&
    analysis.interaction.p !== null &&
    analysis.interaction.p < 0.05
  )
    notes.push(
      `${across === 'operator' ? 'Operators' : 'Placements'} differ on some parts and not on others (p ${analysis.interaction.p < 0.001 ? 'below 0.001' : analysis.interaction.p.toFixed(3)}): look for parts that are awkward to lay or read.`,
    )
  const { tolerancePercent, studyVariationPercent, deviation } = components.gauge
  if (gaugeInterval !== null && tolerancePercent !== null) {
    const most = (tolerancePercent * gaugeInterval.upper) / deviation
    if (wordFor(most) !== wordFor(tolerancePercent))
      notes.push(
        `A study of this size leaves room for doubt: the share could be as much as ${percentText(most)} (95 % confidence). More ${operators.length > 1 ? `${across}s` : 'repeats'} would narrow it.`,
      )
  }
  if (distinctCategories !== null && distinctCategories < FEWEST_CATEGORIES)
    notes.push(
      distinctCategories < 2
        ? `The gauge cannot tell these ${parts.length} parts apart. Either they are alike, or it is too coarse to follow how films change.`
        : `It sorts these parts into ${distinctCategories} groups; ${FEWEST_CATEGORIES} or more are wanted to follow how films change.`,
    )
  if (components.part.clamped && studyVariationPercent > 0)
    notes.push('The parts scatter no more than the gauge itself: choose parts that span what the shop sees.')
  const step = smallestStep(study)
  if (step !== null && components.repeatability.deviation > 0 && step > components.repeatability.deviation)
    notes.push(
      `The values go in steps of ${short(step)}, coarser than the scatter of repeats: write them with more decimals.`,
    )
  return notes
}

/** Smallest difference between two different values; null when all are one. Differences in the last bits are none. */
function smallestStep(study: Omit<GaugeStudy, 'verdict' | 'notes'>): number | null {
  const values = study.cells.flatMap(cell => cell.values).sort((x, y) => x - y)
  const least = 1e-12 * Math.max(Math.abs(values[0]!), Math.abs(values.at(-1)!))
  let smallest: number | null = null
  for (let i = 1; i < values.length; i++) {
    const step = values[i]! - values[i - 1]!
    if (step > least && (smallest === null || step < smallest)) smallest = step
  }
  return smallest
}

/** Three significant digits, without an exponent where people can read it without. */
function short(value: number): string {
  return String(Number(value.toPrecision(3))).replace('-', '\u2212')
}

function percentText(percent: number): string {
  return `${percent >= 100 ? percent.toFixed(0) : percent.toFixed(1)}\u00a0%`
}

import type { JobType } from '../model/job-type.js'
import type { LadderClosest, LadderKnee, LadderPlan, LadderStep } from '../model/ladder.js'
import type { LimitName } from '../model/reading.js'
import { settingMargins } from './setting-margin.js'

/** Readings that more ink brings down as well as up: it fills the gaps between passes. */
const EVENNESS: readonly string[] = ['bandingAmplitude', 'mottle']
/** A reading that is missing counts as one U outside: nobody knows, but it is nearer than what surely fails. */
const UNKNOWN = -1
/** Readings that belong to the film alone. */
const FILM: readonly string[] = ['baseDensity', 'edgeGrowth', 'fringeGrowth', 'densityLoss']

/**
 * Of settings that all do not pass, the one that comes closest (its worst reading is the least far outside, in units of U; of
 * equals the first), and the lever its reading points to.
 * @param steps one or more, none passing
 * @param kneeOf the knee of a stock in a mode
 */
export function closestSetting(
  plan: LadderPlan,
  steps: readonly LadderStep[],
  limits: JobType['limits'],
  kneeOf: (stock: string, mode: string) => LadderKnee,
): LadderClosest {
  const ranked = steps.map(step => ({ step, worst: settingMargins(step.readings, limits)[0] ?? null }))
  const room = ({ step: { findings, readings }, worst }: (typeof ranked)[number]) => {
    const lacking = findings.some(f => f.verdict !== 'pass' && f.reading !== 'scan' && !(f.reading in readings))
    return Math.min(worst?.margin ?? UNKNOWN, lacking ? UNKNOWN : Number.POSITIVE_INFINITY)
  }
  const { step } = ranked.reduce((best, entry) => (room(entry) > room(best) ? entry : best))
  const finding = step.findings.find(f => f.verdict !== 'pass')!
  const at = { stock: step.stock, mode: step.mode, level: step.level }
  const told = { ...at, reading: finding.reading, why: finding.why }
  const limited = finding.reading === 'scan' ? undefined : step.readings[finding.reading]
  if (limited === undefined || (limited.bound !== null && finding.verdict === 'recheck'))
    return { ...told, lever: 'look', advice: finding.next === '' ? 'scan it again' : finding.next }
  return { ...told, ...leverOf(plan, step, finding.reading as LimitName, limits, kneeOf(step.stock, step.mode)) }
}

function leverOf(
  plan: LadderPlan,
  step: LadderStep,
  reading: LimitName,
  limits: JobType['limits'],
  knee: LadderKnee,
): Pick<LadderClosest, 'lever' | 'advice'> {
  const { min } = limits[reading]!
  const short = min !== undefined && step.readings[reading]!.value - step.readings[reading]!.expanded < min
  const highest = step.level === plan.levels.at(-1)
  const lowest = step.level === plan.levels[0]
  const slower = plan.modes
    .filter(mode => mode.minutes > plan.modes.find(m => m.name === step.mode)!.minutes)
    .sort((a, b) => a.minutes - b.minutes)[0]
  const slowerMode = (why: string): Pick<LadderClosest, 'lever' | 'advice'> =>
    slower === undefined
      ? { lever: 'otherFilm', advice: `${why}, and no slower mode is in the plan: try another film` }
      : { lever: 'slowerMode', advice: `${why}: print in a slower mode, as ${slower.name} is` }
  if (FILM.includes(reading)) return { lever: 'otherFilm', advice: 'this belongs to the film alone: try another' }
  if (short) {
    if (knee.kind === 'found' && knee.ceiling.value + knee.ceiling.expanded < min!)
      return {
        lever: 'otherFilm',
        advice: `more ink no longer darkens this film (it levels off at ${knee.ceiling.value.toFixed(2)} ± ${knee.ceiling.expanded.toFixed(2)} D): try another film, or a mode of more resolution`,
      }
    if (highest) return { lever: 'moreInk', advice: `density still rises at level ${step.level}: print higher levels` }
    return slowerMode(`more ink darkens it, but at level ${step.level} and above other readings go out`)
  }
  if (EVENNESS.includes(reading))
    return highest
      ? slowerMode('banding stays at the highest level')
      : { lever: 'moreInk', advice: 'banding falls with more ink and with slower modes: try both' }
  if (lowest) return { lever: 'lessInk', advice: `it is too much already at level ${step.level}: print lower levels` }
  return slowerMode('less ink would cure it, but then density is short')
}

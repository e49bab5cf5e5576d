import { studentT95 } from '../imaging/student-t.js'
import type { LadderCurve, LadderKnee } from '../model/ladder.js'

/** Density of one level. */
export interface LevelDensity {
  readonly level: number
  readonly density: number
  /** Standard uncertainty, D, above 0. */
  readonly standard: number
}

/** Share of the darkening that ink can give, at which more ink is held to darken no longer: 20 times nearer to the ceiling than clear film. */
export const KNEE_SHARE = 0.95
/** Three parameters and one level more, or the fit has nothing to say of itself. */
const FEWEST = 4
/** Scales tried, in units of the range of levels: from a knee before the second level to a straight line. */
const SCALES = { least: 0.02, most: 20, count: 400 }
/** The ceiling must stand above the lowest level by this many of its standard uncertainties, or there is no darkening to speak of. */
const SURE = 3

/**
 * Where more ink no longer darkens: the level at which 95 % of the way from clear film to the ceiling is reached, by the fit
 * D = base + gain (1 - exp(-level / scale)). The form is the project's own: each further drop finds less bare film to
 * cover. Its base is free, so that a driver whose level 0 still lays ink does no harm; what counts as clear is measured.
 * @param points levels with densities, bounds left out
 * @param clear density of the clear film, D; null: the fit's own at level 0
 * @returns the knee with the interval of its profile likelihood (95 %; scatter beyond the stated U widens it), where it lies within the
 *   levels printed; `beyond` where density still rises at the last; `untold` where the levels cannot say
 */
export function saturationKnee(points: readonly LevelDensity[], clear: number | null): LadderKnee {
  const levels = [...new Set(points.map(point => point.level))].sort((a, b) => a - b)
  if (levels.length < FEWEST)
    return { kind: 'untold', why: `${levels.length} levels with a density are too few; print at least ${FEWEST}` }
  const range = levels.at(-1)! - levels[0]!
  const tried = Array.from({ length: SCALES.count }, (_, i) =>
    lineAt(points, range * SCALES.least * (SCALES.most / SCALES.least) ** (i / (SCALES.count - 1))),
  )
  const best = tried.reduce((a, b) => (b.misfit < a.misfit ? b : a))
  const { scale, base, gain } = best
  const curve: LadderCurve = { base, gain, scale }
  const last = levels.at(-1)!
  const at = (level: number, fit: ScaledLine = best) => fit.base + fit.gain * (1 - Math.exp(-level / fit.scale))
  const weakest = Math.max(...points.map(point => point.standard))
  if (!(gain > 0 && at(last) - at(levels[0]!) > SURE * weakest))
    return { kind: 'untold', why: 'density does not rise with the level by more than its uncertainty' }
  const freedom = points.length - 3
  // Scatter beyond what U says (Birge ratio) widens the interval, with Student's t for so few points.
  const ratio = Math.max(1, best.misfit / freedom)
  const allowed = best.misfit + ratio * (ratio > 1 ? studentT95(freedom) : 2) ** 2
  const held = tried.filter(fit => fit.misfit <= allowed)
  const kneeOf = (fit: ScaledLine) => {
    const darkening = fit.base + fit.gain - (clear ?? fit.base)
    const left = ((1 - KNEE_SHARE) * darkening) / fit.gain
    return left > 0 ? -fit.scale * Math.log(left) : Number.POSITIVE_INFINITY
  }
  const level = kneeOf(best)
  const knees = held.map(kneeOf)
  const lower = Math.max(0, Math.min(...knees))
  const open = held.includes(tried.at(-1)!)
  if (!(level <= last))
    return {
      kind: 'beyond',
      why: `density still rises at the highest level printed (${last}); more ink would darken further`,
      curve,
    }
  return {
    kind: 'found',
    level,
    lower,
    upper: open ? null : Math.max(...knees),
    ceiling: { value: base + gain, expanded: 2 * Math.hypot(best.ceilingStandard * Math.sqrt(ratio), spreadOf(held)) },
    grows: null,
    curve,
  }
}

interface ScaledLine extends LadderCurve {
  /** Sum of squared deviations over their uncertainty. */
  readonly misfit: number
  readonly ceilingStandard: number
}

/** For a given scale the rest is a straight line in 1 - exp(-level / scale): weighted least squares in closed form. */
function lineAt(points: readonly LevelDensity[], scale: number): ScaledLine {
  let s = 0
  let sx = 0
  let sy = 0
  let sxx = 0
  let sxy = 0
  for (const { level, density, standard } of points) {
    const w = 1 / standard ** 2
    const x = 1 - Math.exp(-level / scale)
    s += w
    sx += w * x
    sy += w * density
    sxx += w * x * x
    sxy += w * x * density
  }
  const determinant = s * sxx - sx * sx
  const flat = !(determinant > 1e-12 * s * sxx)
  const gain = flat ? 0 : (s * sxy - sx * sy) / determinant
  const base = (sy - gain * sx) / s
  let misfit = 0
  for (const { level, density, standard } of points)
    misfit += ((density - base - gain * (1 - Math.exp(-level / scale))) / standard) ** 2
  // Variance of base + gain: the line at x = 1.
  const variance = flat ? 1 / s : (sxx - 2 * sx + s) / determinant
  return { scale, base, gain, misfit, ceilingStandard: Math.sqrt(Math.max(0, variance)) }
}

/** What the ceiling varies by over the scales that fit, as a standard uncertainty: a quarter of an interval of 95 %. */
function spreadOf(held: readonly ScaledLine[]): number {
  const ceilings = held.map(fit => fit.base + fit.gain)
  return (Math.max(...ceilings) - Math.min(...ceilings)) / 4
}

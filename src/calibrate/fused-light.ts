import type { Calibration, Flare } from '../model/calibration.js'
import type { DensityEstimate, LightScale } from '../model/light.js'
import type { Component } from '../model/reading.js'
import { TOLD_STEP } from './deepest-density.js'
import type { ExposureFit } from './exposure-fit.js'
import { flareLight, flareLightError } from './flare-light.js'
import { lightScale } from './light-scale.js'

const CODES = 65536
/** Deepest guess, D, as for a single scan. */
const DEEPEST_GUESS = 5.5
/** Step of the tables over density, D. */
const STEP = 0.01
/** Coverage factor of "told apart", as for a single scan. */
const COVERAGE = 2
/** How far past the tablet's last trusted step, seen at the longest exposure, the fused light may be believed, D. */
const BEYOND_WITHOUT_DARK = 0.3
const BEYOND_WITH_DARK = 1.0
/**
 * Veil that the calibration's flare does not explain differs over the bed by this share of itself, one sigma: the opaque reference lies
 * elsewhere than the film. Common practice, no source. What it explains is taken off place by place, with its own uncertainty.
 */
const VEIL_ELSEWHERE = 0.1
/** Light round a place is known only this well, as for a single scan. */
const SURROUND_ERROR = 0.02
/** The scale is straight to within this many sigmas of a dark pixel's noise, so that averages stay true. */
const STRAIGHT_SIGMAS = 10
const LEAST_STRAIGHT = 1e-4
/** Room for noise below no light, in sigmas. */
const BELOW_SIGMAS = 15

/** What moves both steps alike. */
const COMMON: ReadonlySet<string> = new Set(['tablet', 'fit', 'ratio'])

/** Codes of fused light: asinh, so straight round no light and logarithmic above (Lupton, Gunn & Szalay, AJ 118, 1406, 1999). */
export interface FusedCodes {
  /** Code of a light, 0 to 65534, not rounded. 65535 is kept for clipped pixels. */
  code(light: number): number
  light(code: number): number
}

/**
 * @param top greatest light that must have a code
 * @param noise standard deviation of a dark fused pixel, light
 */
export function fusedCodes(top: number, noise: number): FusedCodes {
  if (!(top > 0)) throw new RangeError(`top must be above 0; got ${top}`)
  if (!(noise > 0)) throw new RangeError(`noise must be above 0; got ${noise}`)
  const straight = Math.max(LEAST_STRAIGHT, STRAIGHT_SIGMAS * noise)
  const low = Math.asinh((BELOW_SIGMAS * noise) / straight)
  const perUnit = (CODES - 2) / (low + Math.asinh(top / straight))
  return {
    code: light => Math.min(CODES - 2, Math.max(0, (low + Math.asinh(light / straight)) * perUnit)),
    light: code => straight * Math.sinh(code / perUnit - low),
  }
}

export interface FusedLightQuestion {
  readonly calibration: Calibration
  readonly exposures: ExposureFit
  readonly codes: FusedCodes
  /** Share of each scan in the fused light at a density; sums to 1. */
  readonly weights: (light: number) => readonly number[]
  /** Standard deviation of the mean of a dark 1 mm square, light. */
  readonly squareNoise: number
  /** Whether an opaque reference was in view. */
  readonly darkMeasured: boolean
  /** Null for a calibration that looked for none. */
  readonly flare: FusedFlare | null
}

/** Flare of the scanner and the light round places that it is told against. */
export interface FusedFlare {
  readonly flare: Flare
  /** Light round the opaque place whose own flare is in the zero of light; null when no such place was in view. */
  readonly zero: readonly number[] | null
  /** Light round the place where black and flare together were read: only what differs from there is unsure. */
  readonly told: readonly number[]
  /** Light round a place whose surroundings are not told. */
  readonly usual: readonly number[]
}

/**
 * The light scale of fused codes. `density` gives, beside what a single scan's scale gives at the places of the curve where the
 * scans really read:
 * - `ratio`: of the exposures to each other, from the levels common to them and from the tablet at those levels;
 * - `black`: offset of each scan, drifted or not, and veil, as the bracket itself tells them apart, and veil that differs over the bed.
 * Deepest density by the criterion of a single scan (`deepestDensity`) with the fused noise and black. Beyond it the answer is a bound.
 * Veil only adds light, so film and veil together already bound the film: that bound holds even where the veil is not known.
 */
export function fusedLight(question: FusedLightQuestion): LightScale {
  const { calibration, exposures, codes, weights, squareNoise } = question
  const single = lightScale(calibration)
  const transmittance = Float32Array.from({ length: CODES }, (_, code) => codes.light(code))
  const named = (budget: readonly Component[], name: string) => budget.find(c => c.name === name)?.standard ?? 0
  const zero = question.flare?.zero ?? null
  const explained = zero === null ? 0 : flareLight(question.flare!.flare, zero)
  const veilElsewhere = VEIL_ELSEWHERE * Math.abs(exposures.veil - explained)

  /** Standard uncertainties at a density that do not come from the mean's own noise; all in D but `light`. */
  function at(density: number) {
    const light = 10 ** -density
    const perLight = 1 / Math.LN10 / light
    const share = weights(light)
    const { ratio, black, total } = exposures.uncertainty(light, share)
    // The tablet is asked where the scans read: long exposures read deep film at shallow places of the curve.
    const read = (name: string) =>
      Math.hypot(
        ...share.map((w, k) => {
          if (!(w > 0)) return 0
          const code = single.code(Math.max(exposures.seenLight(k, light), 10 ** -(calibration.deepest || 1)))
          return w * named(single.density(code, 0).budget, name)
        }),
      )
    const joined = 1 - (share[0] ?? 0)
    // The ratio is read off the tablet's curve at two levels for each scan that a ratio goes through.
    const tablet = read('tablet')
    const links = Math.max(0, exposures.ratios.length - 1)
    return {
      tablet,
      fit: read('fit'),
      ratio: Math.hypot(ratio * perLight, joined * tablet * Math.sqrt(links)),
      black: Math.hypot(black, veilElsewhere) * perLight,
      total: total * perLight,
    }
  }
  const table = Array.from({ length: Math.round(DEEPEST_GUESS / STEP / 5) + 1 }, (_, i) => at(i * 5 * STEP))
  const between = (density: number, name: keyof ReturnType<typeof at>): number => {
    const place = Math.min(table.length - 1.001, Math.max(0, density / STEP / 5))
    const i = Math.floor(place)
    return table[i]![name] + (table[i + 1]![name] - table[i]![name]) * (place - i)
  }
  /** Light that flare adds at a place beyond what is in the zero of light already, and how well that is known. */
  const added = (surround: readonly number[]) => {
    if (question.flare === null) return { light: 0, error: 0 }
    const { flare, zero, told } = question.flare
    const light = flareLight(flare, surround) - (zero === null ? 0 : flareLight(flare, zero))
    const both = Math.hypot(flareLight(flare, surround), flareLight(flare, told))
    // That flare here is of the shape the calibration took it for was not seen on this bed, but at the opaque place.
    const unseen = VEIL_ELSEWHERE * light
    return { light, error: Math.hypot(flareLightError(flare, surround, told), SURROUND_ERROR * both, unseen) }
  }
  const usual = question.flare?.usual ?? []
  const share = question.flare?.flare.share ?? 0
  const budgetAt = (density: number, noise: number, surround: readonly number[]): Component[] => {
    const flare = added(surround).error
    return [
      ...(['tablet', 'fit', 'ratio'] as const).map(name => ({ name, standard: between(density, name) })),
      { name: 'noise', standard: noise },
      { name: 'black', standard: between(density, 'black') },
      { name: 'flare', standard: flare / Math.LN10 / 10 ** -density },
    ]
  }
  /** As for the deepest density: one more step of 0.15 D must change more than twice what is not common to both steps. */
  const told = (budget: readonly Component[]) =>
    (1 - 10 ** -TOLD_STEP) / Math.LN10 >=
    COVERAGE * Math.hypot(...budget.filter(c => !COMMON.has(c.name)).map(c => c.standard))
  const combined = (budget: readonly Component[]) => Math.hypot(...budget.map(c => c.standard))

  const longest = Math.log10(exposures.ratios.at(-1)!)
  const last = calibration.response.knots.at(-1)!.density
  const limit = Math.min(
    DEEPEST_GUESS,
    last + longest + (question.darkMeasured ? BEYOND_WITH_DARK : BEYOND_WITHOUT_DARK),
  )
  const glare = added(usual).error
  let deepest = calibration.response.knots[0]!.density
  for (let density = deepest; density <= limit + 1e-9; density += STEP) {
    const light = 10 ** -density
    const change = light * (1 - 10 ** -TOLD_STEP)
    const black = between(density, 'black') * light * Math.LN10
    if (!(change >= COVERAGE * Math.hypot(squareNoise, black, glare))) break
    deepest = density
  }
  deepest = Math.floor(deepest * 100 + 1e-6) / 100

  /** The most light that this much light, with its uncertainty, may be: `veiled` with the veil left in. */
  function lowerEnd(density: number, veiled: boolean): number {
    const black = veiled ? between(density, 'total') : between(density, 'black')
    const other = Math.hypot(between(density, 'tablet'), between(density, 'fit'), between(density, 'ratio'))
    const light = 10 ** -density
    const most = light + (veiled ? Math.max(0, exposures.veil) : 0) + COVERAGE * black * light * Math.LN10
    return -Math.log10(most) - COVERAGE * other
  }
  // What is as dark, or darker, is at least as dense as anything brighter: the best of those lower ends counts.
  const ends: number[] = []
  for (let i = 0; i <= DEEPEST_GUESS / STEP; i++)
    ends.push(Math.max(0, ends.at(-1) ?? 0, lowerEnd(i * STEP, false), lowerEnd(i * STEP, true)))

  /** Density of a light above 0, D. */
  const densityOf = (light: number) => (light > 0 ? Math.min(-Math.log10(light), DEEPEST_GUESS) : DEEPEST_GUESS)
  return {
    calibrated: true,
    transmittance,
    deepest,
    lineSpread: single.lineSpread,
    density(meanCode, codeError, surround = usual): DensityEstimate {
      if (!Number.isFinite(meanCode)) throw new RangeError(`meanCode must be a finite code; got ${meanCode}`)
      if (!(codeError >= 0 && Number.isFinite(codeError)))
        throw new RangeError(`codeError must be 0 or more; got ${codeError}`)
      const seen = codes.light(meanCode)
      const light = seen * (1 + share) - added(surround).light
      const guess = densityOf(light)
      const lightError = (codes.light(meanCode + codeError) - codes.light(meanCode - codeError)) / 2
      if (light > 0 && guess <= deepest) {
        const budget = budgetAt(guess, lightError / light / Math.LN10, surround)
        if (told(budget)) return { density: guess, standard: combined(budget), budget, bound: null, guess }
      }
      const budget = budgetAt(Math.min(deepest, guess), 0, surround)
      // Flare only adds light: with all of it left in, the film is at least so dense. An opaque reference has taken some of it out.
      const flare = question.darkMeasured ? COVERAGE * added(surround).error : 0
      const sure = densityOf(Math.max(Math.max(seen, light) + COVERAGE * lightError + flare, 10 ** -DEEPEST_GUESS))
      const density = ends[Math.max(0, Math.min(ends.length - 1, Math.floor(sure / STEP)))]!
      return { density, standard: combined(budget), budget, bound: 'atLeast', guess }
    },
    code: light => codes.code(light),
  }
}

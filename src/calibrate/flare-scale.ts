import type { Flare } from '../model/calibration.js'
import type { DensityEstimate, LightScale } from '../model/light.js'
import { TOLD_STEP } from './deepest-density.js'
import { flareLight, flareLightError } from './flare-light.js'

/** Flare at a place is told only to this share of itself: its shape near by is not quite any that was tried, and dust, lid and lamp beyond the scan are not seen. Common practice, no source. */
const SURROUND_ERROR = 0.02
/** Deepest guess, D. */
const DEEPEST_GUESS = 5.5

/** Light round the tablet at one density. */
export interface StepSurround {
  readonly density: number
  readonly surround: readonly number[]
}

/**
 * A scale that takes flare out: the scanner sees E = (T + sum f S) / (1 + sum f), S being the light round the place at each reach, so
 * T = E (1 + sum f) - sum f S. `flare` in the budget is what is not known of that sum against the one at the tablet's step of the same
 * density, where the curve was read.
 * @param steps light round the trusted steps, from the clearest to the deepest; at least one
 */
export function withoutFlare(scale: LightScale, flare: Flare, steps: readonly StepSurround[]): LightScale {
  const { share } = flare
  const roundStep = (density: number) => {
    const after = steps.findIndex(step => step.density >= density)
    if (after <= 0) return (after === 0 ? steps[0]! : steps.at(-1)!).surround
    const [low, high] = [steps[after - 1]!, steps[after]!]
    const t = (density - low.density) / (high.density - low.density)
    return low.surround.map((s, k) => s + t * (high.surround[k]! - s))
  }
  return {
    ...scale,
    flare,
    density(meanCode, codeError, surround): DensityEstimate {
      const seen = scale.density(meanCode, codeError)
      // Which step it is compared with hangs on the film's own density: two rounds settle it.
      let there = roundStep(seen.guess)
      let here = surround ?? there
      let light = 10 ** -seen.guess * (1 + share) - flareLight(flare, here)
      if (light > 0) {
        there = roundStep(-Math.log10(light))
        here = surround ?? there
        light = 10 ** -seen.guess * (1 + share) - flareLight(flare, here)
      }
      const guess = light > 0 ? Math.min(DEEPEST_GUESS, -Math.log10(light)) : DEEPEST_GUESS
      const added = flareLight(flare, here)
      const flareError = Math.hypot(
        flareLightError(flare, here, there),
        SURROUND_ERROR * Math.hypot(added, flareLight(flare, there)),
      )
      const film = 10 ** -seen.density * (1 + share) - added
      // Every error of E is an error of T; deep in flare the same light is a larger share of T.
      const steeper = film > 0 ? (10 ** -seen.density * (1 + share)) / film : Number.POSITIVE_INFINITY
      const budget = [
        ...seen.budget.map(c => ({ ...c, standard: c.standard * Math.min(c.name === 'tablet' ? 1 : steeper, 1e3) })),
        { name: 'flare', standard: flareError / Math.max(film, 1e-6) / Math.LN10 },
      ]
      const standard = Math.hypot(...budget.map(c => c.standard))
      // As for the deepest density: one more step of 0.15 D must still be told apart at k = 2. What is common to both steps does not count.
      const apart = Math.hypot(...budget.filter(c => c.name !== 'tablet' && c.name !== 'fit').map(c => c.standard))
      const told = (1 - 10 ** -TOLD_STEP) / Math.LN10 >= 2 * apart
      if (seen.bound === null && told && film > 0)
        return { density: -Math.log10(film), guess, standard, budget, bound: null }
      // The most light the place can pass, flare taken out at its least.
      const most = 10 ** -seen.density * (1 + share) * (seen.bound === null ? 10 ** (2 * seen.standard) : 1)
      // Flare only adds light: where it was found it cannot have taken any. Where none was found some may hide in the curve's black.
      const upper = most - added + 2 * flareError
      const least = Math.max(share > 0 ? Math.min(most, upper) : upper, most * 1e-3, 10 ** -DEEPEST_GUESS)
      return { density: Math.max(0, -Math.log10(least)), guess, standard, budget, bound: 'atLeast' }
    },
  }
}

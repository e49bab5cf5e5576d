import type { Flare } from '../model/calibration.js'
import type { DensityEstimate, LightScale } from '../model/light.js'
import { TOLD_STEP } from './deepest-density.js'

/** Light round a place is known only this well: the kernel's shape is a guess, and beyond the rim of the scan nothing is seen. */
const SURROUND_ERROR = 0.03
/**
 * Glare that reaches further than a scan shows looks like black. Where the surroundings are not the tablet's it is held to lie within this
 * (one sigma), share of open light, also beside a flare that was measured. Published flatbeds: 0.03 to 0.1 % in all.
 */
export const UNKNOWN_FLARE = 1e-4
/** Deepest guess, D. */
const DEEPEST_GUESS = 5.5

/**
 * A scale that takes flare out: the scanner sees E = (T + f S) / (1 + f), S being the light round the place, so T = E (1 + f) - f S.
 * With a known f the density is that of T, with `flare` in the budget (f and S); without one it is left as seen, with what unknown flare
 * may do where the surroundings are not those of the tablet.
 * @param surroundOfTablet light round the deepest steps of the tablet, for places whose own surroundings are not told
 */
export function withoutFlare(scale: LightScale, flare: Flare | null, surroundOfTablet: number): LightScale {
  const share = flare?.share ?? 0
  return {
    ...scale,
    flare,
    density(meanCode, codeError, surround): DensityEstimate {
      const seen = scale.density(meanCode, codeError)
      const round = surround ?? surroundOfTablet
      const take = (density: number) => {
        const light = 10 ** -density * (1 + share) - share * round
        return light > 0 ? Math.min(DEEPEST_GUESS, -Math.log10(light)) : DEEPEST_GUESS
      }
      const flareLight =
        flare === null
          ? UNKNOWN_FLARE * Math.abs(round - surroundOfTablet)
          : Math.hypot(
              flare.standard * round,
              share * SURROUND_ERROR,
              UNKNOWN_FLARE * Math.abs(round - surroundOfTablet),
            )
      const light = 10 ** -seen.density * (1 + share) - share * round
      const guess = take(seen.guess)
      // Every error of E is an error of T; deep in flare the same light is a larger share of T.
      const steeper = light > 0 ? (10 ** -seen.density * (1 + share)) / light : Number.POSITIVE_INFINITY
      const budget = [
        ...seen.budget.map(c => ({ name: c.name, standard: c.standard * Math.min(steeper, 1e3) })),
        { name: 'flare', standard: flareLight / Math.max(light, 1e-6) / Math.LN10 },
      ]
      const standard = Math.hypot(...budget.map(c => c.standard))
      // As for the deepest density: one more step of 0.15 D must still be told apart at k = 2. What is common to both steps does not count.
      const apart = Math.hypot(...budget.filter(c => c.name !== 'tablet' && c.name !== 'fit').map(c => c.standard))
      const told = (1 - 10 ** -TOLD_STEP) / Math.LN10 >= 2 * apart
      if (seen.bound === null && told && light > 0)
        return { density: -Math.log10(light), guess, standard, budget, bound: null }
      if (flare === null) {
        const lower = seen.bound === null ? seen.density - 2 * standard : seen.density
        return { density: Math.max(0, Math.min(lower, seen.density)), guess, standard, budget, bound: 'atLeast' }
      }
      // The most light the place can pass, flare taken out at its least.
      const most = 10 ** -seen.density * (1 + share) * (seen.bound === null ? 10 ** (2 * seen.standard) : 1)
      const least = Math.max(most - (share * round - 2 * flareLight), most * 1e-3, 10 ** -DEEPEST_GUESS)
      return { density: Math.max(0, -Math.log10(least)), guess, standard, budget, bound: 'atLeast' }
    },
  }
}

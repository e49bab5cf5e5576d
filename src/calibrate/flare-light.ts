import type { Flare } from '../model/calibration.js'

/** Light that the flare adds at a place: sum of share x light round it at each reach, as a share of open light. */
export function flareLight(flare: Flare, surround: readonly number[]): number {
  let sum = 0
  for (let k = 0; k < flare.shares.length; k++) sum += flare.shares[k]! * (surround[k] ?? 0)
  return sum
}

/**
 * Standard uncertainty of how much more light the flare adds at one place than at another: what both have in common is in the
 * curve already, whose steps were read with it. No shape is quite the scanner's: what the best leaves in opaque places counts at any place.
 */
export function flareLightError(flare: Flare, here: readonly number[], there: readonly number[]): number {
  const off = flare.shares.map((_, k) => (here[k] ?? 0) - (there[k] ?? 0))
  let sum = 0
  for (let i = 0; i < off.length; i++)
    for (let j = 0; j < off.length; j++) sum += off[i]! * off[j]! * flare.covariance[i]![j]!
  return Math.sqrt(Math.max(0, sum) + flare.remainder ** 2)
}

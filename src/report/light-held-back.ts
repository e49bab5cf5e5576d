/** What a net density does to light. */
export interface LightHeldBack {
  /** One part in this many comes through: 10^net. */
  readonly onePartIn: number
  /** Share of the light that comes through, %. */
  readonly leakPercent: number
  /** How often the light is halved: net / log10 2, steps of about 0.30 D. */
  readonly halvings: number
}

/**
 * Puts a net density (solid less base, D, 0 or more) into light, for explanation; no exposure follows from it.
 * T = 10^-D: ISO 5-1.
 * @throws RangeError when the net density is not a finite number.
 */
export function lightHeldBack(netDensity: number): LightHeldBack {
  if (!Number.isFinite(netDensity)) throw new RangeError(`net density must be finite; got ${netDensity}`)
  return {
    onePartIn: 10 ** netDensity,
    leakPercent: 100 * 10 ** -netDensity,
    halvings: netDensity / Math.log10(2),
  }
}

/**
 * Tone value by Murray and Davies (J. Franklin Inst. 221, 721, 1936; ISO 12647-1, 3.39, in transmittance): share of the area that is ink,
 * `A = 100 (T0 - Tt) / (T0 - Ts)`.
 * @param base mean transmittance of clear film, `tint` of the tint, `solid` of the solid, all with or all without the base
 * @returns %, 0 where the tint is as clear as the base, 100 where it is as dark as the solid
 * @throws RangeError unless the solid is darker than the base
 */
export function toneValue(base: number, tint: number, solid: number): number {
  if (!(base > solid)) throw new RangeError(`base must pass more light than the solid; got ${base} and ${solid}`)
  return (100 * (base - tint)) / (base - solid)
}

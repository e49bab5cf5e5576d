import { FEWEST_PITCHES } from '../imaging/ripple-spectrum.js'
import type { RippleProfile } from '../model/measured.js'
import { bandingOf, directionWords } from './banding.js'
import type { FilmEvidence } from './film-evidence.js'

/** The spectrum to be drawn: of the stronger direction, in the solid whose wave stands out best, else in the longest. Null without a solid. */
export function rippleProfile({ scan, ripple }: FilmEvidence): RippleProfile | null {
  if (ripple === undefined || ripple.solids.length === 0) return null
  const [{ axis, clearest, longest }] = bandingOf({ scan, ripple })
  const { solid, spectrum, direction, lengthMm } = clearest ?? longest
  const rounded = (values: Float64Array, scale: number, decimals: number) =>
    Array.from(values, value => Number((scale * value).toFixed(decimals)))
  return {
    id: solid.field.area.id,
    direction: directionWords(direction, solid.field.area, axis),
    frequency: rounded(spectrum.frequency, 1, 4),
    amplitude: rounded(spectrum.amplitude, 100, 4),
    noise: rounded(spectrum.noise, 100, 4),
    longestMm: Number((lengthMm / FEWEST_PITCHES).toFixed(2)),
    pitchMm: spectrum.line === null ? null : 1 / spectrum.line.frequency,
  }
}

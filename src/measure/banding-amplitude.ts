import { bandingOf } from './banding.js'
import type { FilmEvidence, Measured } from './film-evidence.js'
import { unseenRipple } from './unseen-ripple.js'

/**
 * Banding: ripple of the solids' ink (net density over its mean) in the one of the film's two directions where it is stronger, % rms over pitches from 0.28 mm to
 * a third of the solid, slow trend and the noise floor taken out. Light is averaged along the band as T, then the logarithm is taken; what the scanner's
 * optics blur of the strongest wave is given back. 0 upward; below its own U it says no more than that there is hardly any. Assumes that bands run along
 * one of the film's axes. A control strip's own solids, its rail first of all, stand before the artwork's (measure-film.ts). A film that lies square cannot tell its own ripple from the scanner's.
 * Error floor 0.02 to 0.1 % by noise at D 3.
 */
export function measureBandingAmplitude(film: FilmEvidence): Measured {
  const { scan, ripple } = film
  const unseen = unseenRipple('bandingAmplitude', ripple)
  if (unseen !== null || ripple === undefined) return unseen!
  const [stronger, ...others] = bandingOf({ scan, ripple })
  return {
    value: 100 * stronger.rms,
    unit: '%',
    ...stronger.uncertainty,
    bound: null,
    n: ripple.solids.length,
    parts: [
      ...stronger.parts,
      ...others.flatMap(({ parts }) => parts.map(part => ({ ...part, id: `${part.id}-other` }))),
    ],
    budget: stronger.budget,
    method: 'bandingAmplitude@1',
  }
}

import type { Component } from '../model/reading.js'
import { bandingOf, trendShare } from './banding.js'
import { expandedUncertainty } from './expanded-uncertainty.js'
import { type FilmEvidence, type Measured, notMeasured } from './film-evidence.js'
import { unseenRipple } from './unseen-ripple.js'

/**
 * Pitch of the strongest band, mm, in the direction of the film where banding is stronger: from the solid that tells it best, fitted together
 * with slow trend (least squares). 0.28 mm to a third of the solid. Not measured when no wave stands out of the noise (1 in 1000 by chance).
 */
export function measureBandingPitch(film: FilmEvidence): Measured {
  const { scan, ripple, doubts } = film
  const unseen = unseenRipple('bandingPitch', ripple)
  if (unseen !== null || ripple === undefined) return unseen!
  const [stronger] = bandingOf({ scan, ripple })
  const { clearest } = stronger
  const line = clearest?.spectrum.line ?? null
  if (clearest === null || line === null)
    return notMeasured(
      'bandingPitch',
      'no regular band stands out of the noise in any solid',
      'nothing to do: a film without bands has no pitch',
    )
  const pitch = 1 / line.frequency
  const { lengthMm, direction } = clearest
  const cos2 = Math.cos((direction * Math.PI) / 180) ** 2
  const size = (['across', 'along'] as const).flatMap(way =>
    doubts[way].map(doubt => ({ ...doubt, share: doubt.share * (way === 'across' ? cos2 : 1 - cos2) })),
  )
  const budget: Component[] = [
    { name: 'noise', standard: pitch * (line.frequencyError / line.frequency), type: 'A', degreesOfFreedom: null },
    {
      name: 'slow trend',
      standard: pitch * trendShare(line.frequency, lengthMm),
      type: 'B',
      degreesOfFreedom: null,
    },
    ...size.map(
      ({ name, share, type, degreesOfFreedom }): Component => ({
        name,
        standard: pitch * share,
        type,
        input: { standard: share, unit: '1' },
        sensitivity: pitch,
        degreesOfFreedom,
      }),
    ),
  ]
  return {
    value: pitch,
    unit: 'mm',
    ...expandedUncertainty(budget),
    bound: null,
    n: 1,
    parts: stronger.parts.filter(part => part.id === clearest.solid.field.area.id),
    budget,
    method: 'bandingPitch@1',
  }
}

import { expandedUncertainty } from './expanded-uncertainty.js'
import { type FilmEvidence, type Measured, notMeasured } from './film-evidence.js'
import { noStrip } from './strip-reading.js'

export const TONE_VALUE_ERROR_METHOD = 'toneValueError@1'

/**
 * Error of the worst tint of the control strip: its tone value (Murray and Davies, in transmittance: tone-value.ts) less the share of ink it was
 * sent with. %, above 0 where it prints too full. Base and solid are the strip's own. Error floor: 0.15 % of area, and what the light
 * scale leaves where pixels lie half on a dot.
 */
export function measureToneValueError({ strip }: FilmEvidence): Measured {
  if (strip === undefined) return noStrip('toneValueError', 'tints')
  const { tones } = strip
  if (tones.length === 0)
    return notMeasured(
      'toneValueError',
      'none of the control strip’s tints lies wholly on the scan',
      'scan with the whole strip in view',
    )
  const off = (tone: (typeof tones)[number]) => tone.measured - tone.intended
  const worst = tones.reduce((a, b) => (Math.abs(off(b)) > Math.abs(off(a)) ? b : a))
  return {
    value: off(worst),
    unit: '%',
    ...expandedUncertainty(worst.budget),
    bound: null,
    n: tones.length,
    parts: tones.map((tone, i) => ({
      id: `strip-tint-${i + 1}`,
      place: tone.place,
      value: off(tone),
      expanded: tone.expanded,
      bound: null,
      note: `tint of ${tone.intended} %`,
    })),
    budget: worst.budget,
    method: TONE_VALUE_ERROR_METHOD,
  }
}

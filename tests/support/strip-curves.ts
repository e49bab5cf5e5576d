import type { StripCurves } from '../../src/model/strip.js'
import { LINE_WIDTHS_UM, TINT_PERCENTS } from '../../src/strip/strip-layout.js'

/** Invented curves of a strip whose dots gain and whose lines thicken. */
export function stripCurves(gain = 9): StripCurves {
  return {
    tones: TINT_PERCENTS.map(intended => ({
      intended,
      measured: intended + (4 * gain * intended * (100 - intended)) / 10_000,
      expanded: 0.6,
    })),
    lines: (['positive', 'negative'] as const).flatMap(polarity =>
      (['head', 'feed'] as const).flatMap(direction =>
        LINE_WIDTHS_UM.slice(polarity === 'negative' ? 1 : 0).map(intendedUm => ({
          polarity,
          direction,
          intendedUm,
          measuredUm: intendedUm + (polarity === 'positive' ? 14 : -14) + (direction === 'head' ? 3 : 0),
          expanded: 2.4,
        })),
      ),
    ),
  }
}

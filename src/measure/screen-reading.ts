import type { Component, Unit } from '../model/reading.js'
import { expandedUncertainty } from './expanded-uncertainty.js'
import { type FilmEvidence, type Measured, notMeasured } from './film-evidence.js'
import type { StripEvidence } from './strip-evidence.js'
import { noStrip } from './strip-reading.js'

/** Tints alone tell their scatter from so many on. */
const FEWEST_FOR_SCATTER = 3

/** One number of the screen: the mean over the control strip's tints, with what their scatter and `more` leave unsure. */
export function screenReading(
  { strip }: FilmEvidence,
  name: 'ruling' | 'screenAngle',
  unit: Unit,
  valuesOf: (tints: NonNullable<StripEvidence['screen']>['tints']) => readonly number[],
  more: (strip: StripEvidence, mean: number) => readonly Component[],
): Measured {
  if (strip === undefined) return noStrip(name, 'tints')
  if (strip.screen === null)
    return notMeasured(
      name,
      strip.laid.identity.tints === 'grey' && strip.tones.length > 0
        ? 'the tints of the control strip show no rows of dots: they were left as grey, or screened at random'
        : 'the tints of the control strip show no rows of dots',
      'scan finer than six pixels to the row of dots (1200 dpi serves every usual ruling), with the whole strip in view',
    )
  const values = valuesOf(strip.screen.tints)
  const n = values.length
  const mean = values.reduce((sum, value) => sum + value, 0) / n
  const scatter = Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / Math.max(1, n - 1) / n)
  const budget: Component[] = [
    ...(n < FEWEST_FOR_SCATTER
      ? []
      : [{ name: 'tints', standard: scatter, type: 'A' as const, degreesOfFreedom: n - 1 }]),
    ...more(strip, mean),
  ]
  return { value: mean, unit, ...expandedUncertainty(budget), bound: null, n, parts: [], budget, method: `${name}@1` }
}

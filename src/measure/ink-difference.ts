import type { InkAmount, InkDifference } from '../model/artwork.js'
import type { Component } from '../model/reading.js'
import { expandedUncertainty } from './expanded-uncertainty.js'
import { type FilmEvidence, type Measured, notMeasured } from './film-evidence.js'
import { fittedArtwork } from './fitted-artwork.js'

/**
 * Ink missing or too much against the artwork, mm2: where light says that ink is not there (or is) and the artwork says otherwise all round by an edge
 * allowance, which is given back when a place's area is taken; tints by the mean ink of 1 mm windows (artwork/compare-ink.ts; the definition is the project's own).
 * 0 upward; places below 0.02 mm2 are pinholes and specks. Assumes film and artwork of one state of the job. Error: the places' rims times how well edges lie.
 */
export function measureInkDifference(
  film: FilmEvidence,
  reading: 'missingInk' | 'extraInk',
  amountOf: (difference: InkDifference) => InkAmount,
): Measured {
  const fitted = fittedArtwork(film, reading)
  if ('because' in fitted) return fitted
  const { difference } = fitted.artwork
  if (difference === undefined || difference === null || !(difference.comparedMm2 > 0))
    return notMeasured(
      reading,
      'none of the artwork has film under it on this scan',
      'scan the whole film, then inspect again',
    )
  const { areaMm2, standardMm2, count, places } = amountOf(difference)
  const budget: Component[] = [
    { name: 'rim of the places', standard: standardMm2, type: 'B', degreesOfFreedom: null },
    // One place that was just too small to be counted (rectangular).
    { name: 'places too small', standard: difference.leastMm2 / Math.sqrt(3), type: 'B', degreesOfFreedom: null },
  ]
  return {
    value: areaMm2,
    unit: 'mm2',
    ...expandedUncertainty(budget),
    bound: difference.crowded ? 'atLeast' : null,
    n: Math.max(1, count),
    parts: places.map(place => ({
      id: place.id,
      place: place.place,
      value: place.areaMm2,
      expanded: 2 * place.standardMm2,
      bound: null,
      ...(place.tint ? { note: 'tint or small type, by its mean ink' } : {}),
    })),
    budget,
    method: `${reading}@1`,
  }
}

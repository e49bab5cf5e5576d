import type { Flaw, FlawKind } from '../model/flaw.js'
import type { ReadingName } from '../model/reading.js'
import { expandedUncertainty } from './expanded-uncertainty.js'
import type { FilmEvidence, Measured } from './film-evidence.js'
import { lookedFlaws } from './looked-flaws.js'

/** Version of the method, after the reading's name. */
const VERSION = 1

/** Of the flaws of two pixels and more so large a share is missed (accuracy wanted; `tests/truth/flaws.test.ts`). */
const MISSED = 0.01

/**
 * How many flaws of some kinds the page has, count. Every pixel of the film was looked at, so no sampling is in U: only that a flaw may be missed, and
 * that those whose size is within its own U of the least size counted may fall on either side (even chance: variance 1/4 each).
 * With spots among them that may be dust it is a bound: at most so many. The rate a square decimetre, with its Poisson interval, is another question and stands in `MeasuredFlaws.rates`.
 */
export function countFlaws(film: FilmEvidence, name: ReadingName, kinds: readonly FlawKind[]): Measured {
  const looked = lookedFlaws(film, name)
  if ('because' in looked) return looked
  const { list, counts, leastUm } = looked
  const found = kinds.reduce((sum, kind) => sum + counts[kind], 0)
  const mine = list.filter(flaw => kinds.includes(flaw.kind))
  const isNear = (flaw: Flaw) => flaw.lengthMm === null && Math.abs(flaw.diameterUm - leastUm) <= flaw.expandedUm
  const near = mine.filter(isNear).length
  const budget = [
    { name: 'flaws missed', standard: Math.sqrt(MISSED * found), type: 'B' as const },
    { name: 'size near the least counted', standard: Math.sqrt(near / 4), type: 'B' as const },
  ]
  return {
    value: found,
    unit: 'count',
    ...expandedUncertainty(budget),
    // What may be dust is no flaw of the film: with it the count is only a most.
    bound: mine.some(flaw => flaw.possibleDust) ? 'atMost' : null,
    n: found,
    // Where each lies and how large it is; the list of flaws ends somewhere, the count does not.
    parts: mine.map(flaw => ({
      id: flaw.id,
      place: flaw.place,
      value: 1,
      expanded: isNear(flaw) ? 1 : 0,
      bound: flaw.possibleDust ? 'atMost' : null,
      note: sizeOf(flaw),
    })),
    budget,
    method: `${name}@${VERSION}`,
  }
}

function sizeOf({ lengthMm, widthUm, diameterUm, leakedMm2 }: Flaw): string {
  const size =
    lengthMm === null
      ? `${diameterUm.toFixed(0)} um across`
      : `${lengthMm.toFixed(1)} mm long${widthUm === null ? '' : `, ${widthUm.toFixed(0)} um wide`}`
  return `${size}; light of ${leakedMm2.toFixed(4)} mm2 of clear film`
}

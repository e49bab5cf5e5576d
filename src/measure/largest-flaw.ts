import type { FlawKind } from '../model/flaw.js'
import type { ReadingName } from '../model/reading.js'
import { expandedUncertainty } from './expanded-uncertainty.js'
import type { FilmEvidence, Measured } from './film-evidence.js'
import { lookedFlaws } from './looked-flaws.js'

/** Version of the method, after the reading's name. */
const VERSION = 1

/**
 * Equivalent diameter of the largest flaw of some kinds, um, by the light it changes. Without any, at most the least diameter that is found for certain
 * (two pixels): a bound, which a finer scan lowers. One that may be dust makes a bound too: wiped off, the largest is smaller. Error floor: `measureFlaws`.
 */
export function largestFlaw(film: FilmEvidence, name: ReadingName, kinds: readonly FlawKind[]): Measured {
  const looked = lookedFlaws(film, name)
  if ('because' in looked) return looked
  const { list, counts, leastUm } = looked
  const mine = list.filter(flaw => kinds.includes(flaw.kind))
  const found = kinds.reduce((sum, kind) => sum + counts[kind], 0)
  const bySize = [...mine].sort((a, b) => b.diameterUm - a.diameterUm)
  const worst = bySize[0] ?? null
  const budget = [{ name: 'light it lets through', standard: (worst?.expandedUm ?? 0) / 2, type: 'B' as const }]
  return {
    value: worst?.diameterUm ?? leastUm,
    unit: 'um',
    ...expandedUncertainty(budget),
    bound: worst === null || worst.possibleDust ? 'atMost' : null,
    n: found,
    // All that are listed, the largest first.
    parts: bySize.map(flaw => ({
      id: flaw.id,
      place: flaw.place,
      value: flaw.diameterUm,
      expanded: flaw.expandedUm,
      bound: flaw.possibleDust ? 'atMost' : null,
    })),
    budget,
    method: `${name}@${VERSION}`,
  }
}

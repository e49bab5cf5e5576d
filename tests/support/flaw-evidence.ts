import type { FilmEvidence } from '../../src/measure/film-evidence.js'
import { FLAW_KINDS, type Flaw, type FlawKind, type MeasuredFlaws } from '../../src/model/flaw.js'
import { artworkEvidence } from './artwork-evidence.js'

/** Flaws of told kinds, each 100 um larger than the one before, from 100 um on; U 10 um. */
export function flaws(
  counts: Partial<Record<FlawKind, number>>,
  change: Partial<MeasuredFlaws> = {},
  each: Partial<Flaw> = {},
): MeasuredFlaws {
  const list = FLAW_KINDS.flatMap(kind =>
    Array.from({ length: counts[kind] ?? 0 }, (_, i): Flaw => {
      const diameterUm = 100 * (i + 1)
      return {
        id: `flaw-${kind}-${i + 1}`,
        kind,
        place: { column: 10 * i, row: 5 },
        filmMm: null,
        diameterUm,
        expandedUm: 10,
        lengthMm: kind === 'scratch' || kind === 'missingNozzle' || kind === 'hair' ? 2 : null,
        widthUm: null,
        leakedMm2: (Math.PI * (diameterUm / 2000) ** 2) as number,
        possibleDust: false,
        members: 1,
        corners: [],
        ...each,
      }
    }),
  )
  return {
    list,
    counts: Object.fromEntries(FLAW_KINDS.map(kind => [kind, counts[kind] ?? 0])) as Record<FlawKind, number>,
    inspectedMm2: { solid: 1000, clear: 2000 },
    skippedMm2: {},
    rates: { light: null, dark: null },
    leastUm: 42,
    tooMany: false,
    ...change,
  }
}

/** Evidence that holds flaws and nothing else. */
export function flawEvidence(found: FilmEvidence['flaws']): FilmEvidence {
  return { ...artworkEvidence(undefined), ...(found === undefined ? {} : { flaws: found }) }
}

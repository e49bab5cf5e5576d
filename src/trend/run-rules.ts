import type { ProcessSignal } from '../model/process.js'

/** How far from the mean counts: two and three standard deviations, as well as they are known. */
export interface RuleReach {
  readonly two: number
  readonly three: number
}

/** So many in a row on one side of the mean. */
const RUN = 9

/**
 * Three run rules on deviations from the mean (Nelson, J. Qual. Technol. 16, 237, 1984, tests 1, 2 and 5, from memory; in the manner of
 * ISO 7870-2, from memory). Of his eight these three see what printers do: a film gone wrong, a process that has moved and stays, and one that
 * moves much for a while. Each further rule costs more false alarms than it finds. For independent normal values about a known mean, chance
 * begins a signal by `limit` at 2.7 films in 1000, by `side` at 2.0 and by `twoOfThree` at 1.9.
 * @param deviations value less mean, in the order of time; finite
 * @returns one signal for each stretch that breaks a rule, by its first film; `since` is the first film of the pattern
 */
export function runRules(deviations: readonly number[], { two, three }: RuleReach): readonly ProcessSignal[] {
  for (let i = 0; i < deviations.length; i++)
    if (!Number.isFinite(deviations[i]!)) throw new RangeError(`deviation ${i} must be finite; got ${deviations[i]}`)
  if (!(two > 0 && three > two)) throw new RangeError(`reach must rise from above 0; got ${two} and ${three}`)
  const found: ProcessSignal[] = []
  for (const side of ['above', 'below'] as const) {
    const sign = side === 'above' ? 1 : -1
    found.push(...stretches('limit', side, deviations.length, i => (sign * deviations[i]! > three ? i : null)))
    let run = 0
    found.push(
      ...stretches('side', side, deviations.length, i => {
        run = sign * deviations[i]! > 0 ? run + 1 : 0
        return run >= RUN ? i - run + 1 : null
      }),
      ...stretches('twoOfThree', side, deviations.length, i => {
        if (!(sign * deviations[i]! > two)) return null
        for (const before of [i - 2, i - 1]) if (before >= 0 && sign * deviations[before]! > two) return before
        return null
      }),
    )
  }
  return found.sort((a, b) => a.since - b.since || a.until - b.until)
}

/**
 * Joins what follows without a gap. `firstOf` is asked in order and says where the pattern that ends at `i` began, or null.
 */
function stretches(
  rule: ProcessSignal['rule'],
  side: ProcessSignal['side'],
  count: number,
  firstOf: (i: number) => number | null,
): ProcessSignal[] {
  const made: { rule: ProcessSignal['rule']; since: number; until: number; side: ProcessSignal['side'] }[] = []
  for (let i = 0; i < count; i++) {
    const first = firstOf(i)
    if (first === null) continue
    const last = made.at(-1)
    if (last !== undefined && first <= last.until + 1) last.until = i
    else made.push({ rule, since: first, until: i, side })
  }
  return made
}

import type { Taken } from './timed-process.js'

/** Two programs run in turns, so that what else the machine does falls on both alike. */
export interface Pair {
  readonly ours: readonly Taken[]
  readonly theirs: readonly Taken[]
  /** Ours over theirs: median of the rounds, with the least and the greatest. */
  readonly ratio: Spread
  /** The same of processor time, which a busy machine disturbs less. */
  readonly cpuRatio: Spread
}

export interface Spread {
  readonly median: number
  readonly least: number
  readonly most: number
}

/** Runs both once to warm the disk's cache, then `rounds` pairs, the order turned each time. */
export async function pairedRuns(
  ours: () => Promise<Taken>,
  theirs: () => Promise<Taken>,
  rounds: number,
): Promise<Pair> {
  await theirs()
  const pairs: { ours: Taken; theirs: Taken }[] = []
  for (let round = 0; round < rounds; round++) {
    if (round % 2 === 0) {
      const first = await ours()
      pairs.push({ ours: first, theirs: await theirs() })
    } else {
      const first = await theirs()
      pairs.push({ ours: await ours(), theirs: first })
    }
  }
  return {
    ours: pairs.map(pair => pair.ours),
    theirs: pairs.map(pair => pair.theirs),
    ratio: spreadOf(pairs.map(pair => pair.ours.seconds / pair.theirs.seconds)),
    cpuRatio: spreadOf(pairs.map(pair => pair.ours.cpuSeconds / pair.theirs.cpuSeconds)),
  }
}

export function spreadOf(values: readonly number[]): Spread {
  const sorted = [...values].sort((a, b) => a - b)
  const half = sorted.length >> 1
  const median = sorted.length % 2 === 1 ? sorted[half]! : (sorted[half - 1]! + sorted[half]!) / 2
  return { median, least: sorted[0]!, most: sorted.at(-1)! }
}

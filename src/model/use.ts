import type { ReadingName } from './reading.js'

/** A positive was used to burn screens. It stands on record for ever. */
export interface FilmUse {
  readonly positive: string
  /** Burns, 1 or more. */
  readonly times: number
  /** Who said so, when that was said. */
  readonly by: string | null
  /** When it was used, ISO 8601 in UTC. */
  readonly at: string
}

/**
 * Whether a reading grows with use or with age. `rate` is a use, or a day, with U (k = 2). `together`: it grows, but use and age rose so alike
 * that nobody can tell which it goes with.
 */
export type UsedGrowth =
  | { readonly kind: 'use'; readonly rate: number; readonly expanded: number }
  | { readonly kind: 'age'; readonly rate: number; readonly expanded: number }
  | { readonly kind: 'together' }
  | { readonly kind: 'none' }
  | { readonly kind: 'tooFew'; readonly because: string }

/** One reading of a film set against how often it had been used. */
export interface UsedReading {
  readonly reading: ReadingName
  /** By time; `newest`: of the newest scan. */
  readonly points: readonly {
    readonly uses: number
    readonly value: number
    readonly expanded: number
    readonly newest: boolean
  }[]
  /** Null for counts, which do not begin at 0. */
  readonly growth: UsedGrowth | null
}

/** How often the film of a positive's newest scans was used, and what it did to it. */
export interface UseHistory {
  readonly count: number
  /** When its print was first scanned; null: never printed anew. */
  readonly since: string | null
  /** When it was last used, ISO 8601. */
  readonly last: string
  readonly readings: readonly UsedReading[]
}

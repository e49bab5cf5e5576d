import type { FilmUse } from '../model/use.js'

/**
 * How often a film was used in a span of time.
 * @param after uses before it are not counted; null: from the first
 * @param until uses after it are not counted; null: to the last
 */
export function usesBetween(uses: readonly FilmUse[], after: string | null, until: string | null): number {
  const from = after === null ? Number.NEGATIVE_INFINITY : Date.parse(after)
  const to = until === null ? Number.POSITIVE_INFINITY : Date.parse(until)
  return uses.reduce((sum, { at, times }) => {
    const ms = Date.parse(at)
    return ms >= from && ms <= to ? sum + times : sum
  }, 0)
}

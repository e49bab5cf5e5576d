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

/** A stored film taken out of its drawer: nobody looks after it any more. It stands on record for ever. */
export interface Retirement {
  readonly positive: string
  /** All of its prints, or only those from before it was printed anew under the same name. */
  readonly prints: 'all' | 'older'
  readonly because: string
  /** Who took it out, when that was said. */
  readonly by: string | null
  /** When, ISO 8601 in UTC. A scan made later brings the film back. */
  readonly at: string
}

import type { Verdict } from './inspection.js'

/** A person's word beside the instrument's: the film is let through although it did not pass. Both are kept for ever. */
export interface Acceptance {
  /** Id of the inspection. */
  readonly inspection: string
  /** What the instrument said. */
  readonly verdict: Exclude<Verdict, 'pass'>
  /** Who let it through. */
  readonly by: string
  readonly because: string
  /** When, ISO 8601 in UTC. */
  readonly at: string
}

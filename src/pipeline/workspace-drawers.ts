import type { Drawers } from '../model/drawer.js'
import type { JobType } from '../model/job-type.js'
import { ProblemError } from '../model/problem.js'
import type { Store } from '../model/store.js'
import { findDrawers } from '../trend/find-drawers.js'
import type { JobTypeShelf } from './inspect-scan.js'

/** How far ahead the drawers look when no date is named: a quarter of a year, the time in which a shop plans re-runs. Common practice, no source. */
const AHEAD_DAYS = 90

/** What drawers are read from. */
export interface DrawerContext {
  readonly store: Pick<Store, 'stored'>
  readonly jobTypes: () => Promise<JobTypeShelf>
  readonly now: () => Date
  /** Positives that reach a limit before this date are listed; null: 90 days ahead. */
  readonly before?: Date | null
}

/** The stored positives of a workspace by what they ask for. Job types are read anew: they may have been edited; without any, nobody knows when they are due. @throws ProblemError DATABASE_* */
export async function workspaceDrawers({ store, jobTypes, now, before }: DrawerContext): Promise<Drawers> {
  const at = now()
  const types = await jobTypes().then(
    shelf => shelf.types,
    (error: unknown) => {
      if (error instanceof ProblemError) return new Map<string, JobType>()
      throw error
    },
  )
  return findDrawers(await store.stored(), types, {
    now: at,
    before: before ?? new Date(at.getTime() + AHEAD_DAYS * 86_400_000),
  })
}

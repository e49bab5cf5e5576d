import { ProblemError } from '../model/problem.js'
import type { Store } from '../model/store.js'
import type { FilmUse } from '../model/use.js'
import { usesBetween } from '../trend/uses-between.js'
import { personWords } from './person-words.js'

export interface UseTask {
  /** Name of a positive, or id of one of its inspections. */
  readonly id: string
  /** Burns; absent: 1. */
  readonly times?: number
  readonly by?: string
  /** When; absent: now. */
  readonly on?: Date
}

export interface UseOutcome {
  readonly use: FilmUse
  /** Of the print that is in the drawer: since it was printed anew, if it was. */
  readonly uses: number
  /** When that print was first scanned; null: never printed anew. */
  readonly since: string | null
  /** It was taken out of its drawer before. */
  readonly retired: boolean
}

/** More burns than this at once are a slip of the key: nobody burns a thousand screens of one film a day. */
const MOST_TIMES = 1000
const LONGEST_NAME = 80

/**
 * Counts that a positive was used to burn screens; append-only: nothing takes a use back.
 * @throws ProblemError USE_INVALID, INSPECTION_UNKNOWN, DATABASE_*
 */
export async function recordUse(
  task: UseTask,
  { store, now }: { readonly store: Pick<Store, 'byId' | 'stored' | 'use' | 'usesOf'>; readonly now: () => Date },
): Promise<UseOutcome> {
  const { times = 1 } = task
  if (!(Number.isInteger(times) && times >= 1 && times <= MOST_TIMES))
    throw new ProblemError('USE_INVALID', `times must be a whole number from 1 to ${MOST_TIMES}`)
  const by = task.by === undefined ? null : personWords('USE_INVALID', 'the name', task.by, LONGEST_NAME)
  const at = now()
  const on = task.on ?? at
  if (!(on.getTime() <= at.getTime()))
    throw new ProblemError('USE_INVALID', `${on.toISOString().slice(0, 10)} is still to come`)
  const positive = (await store.byId(task.id))?.positive ?? task.id.normalize('NFC')
  const film = (await store.stored()).find(one => one.positive === positive)
  if (film === undefined) throw new ProblemError('INSPECTION_UNKNOWN', `"${task.id}"`)
  const use: FilmUse = { positive, times, by, at: on.toISOString() }
  await store.use(use)
  return {
    use,
    uses: usesBetween(await store.usesOf(positive), film.reprintedAt, null),
    since: film.reprintedAt,
    retired: film.retired !== null,
  }
}

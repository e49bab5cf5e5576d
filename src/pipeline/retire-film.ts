import { ProblemError } from '../model/problem.js'
import type { Retirement } from '../model/retirement.js'
import type { Store } from '../model/store.js'
import { personWords } from './person-words.js'

/** Which film is taken out, and why. */
export interface RetireTask {
  /** Name of a positive, or id of one of its inspections. */
  readonly id: string
  readonly because: string
  readonly by?: string
  /** All of its prints, though only older ones are overtaken. */
  readonly all?: boolean
}

export interface RetireOutcome {
  readonly retirement: Retirement
  /** It was out already; nothing was added. */
  readonly known: boolean
}

const LONGEST_NAME = 80
const LONGEST_REASON = 1000

/**
 * Notes that a stored film was taken out of its drawer; append-only. Of a positive that was printed anew under its own name only the older prints
 * are meant, as long as those are in there and unless all are asked for. A scan made later brings the film back.
 * @throws ProblemError RETIREMENT_INCOMPLETE, INSPECTION_UNKNOWN, DATABASE_*
 */
export async function retireFilm(
  task: RetireTask,
  {
    store,
    now,
  }: { readonly store: Pick<Store, 'byId' | 'stored' | 'retire' | 'retirementsOf'>; readonly now: () => Date },
): Promise<RetireOutcome> {
  const because = personWords('RETIREMENT_INCOMPLETE', 'the reason', task.because, LONGEST_REASON)
  const by = task.by === undefined ? null : personWords('RETIREMENT_INCOMPLETE', 'the name', task.by, LONGEST_NAME)
  const positive = (await store.byId(task.id))?.positive ?? task.id.normalize('NFC')
  const film = (await store.stored()).find(one => one.positive === positive)
  if (film === undefined) throw new ProblemError('INSPECTION_UNKNOWN', `"${task.id}"`)
  if (film.retired !== null) {
    const known = (await store.retirementsOf(positive)).filter(one => one.prints === 'all').at(-1)!
    return { retirement: known, known: true }
  }
  const older = task.all !== true && film.replacedBy === null && film.reprintedAt !== null && !film.olderRetired
  const retirement: Retirement = { positive, prints: older ? 'older' : 'all', because, by, at: now().toISOString() }
  await store.retire(retirement)
  return { retirement, known: false }
}

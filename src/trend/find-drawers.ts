import type { DrawerEntry, Drawers, StoredPositive } from '../model/drawer.js'
import type { JobType } from '../model/job-type.js'

const DAY_MS = 86_400_000

/** When the drawers are looked through, and how far ahead. */
export interface DrawerQuestion {
  readonly now: Date
  /** Positives that reach a limit before this date are listed. */
  readonly before: Date
}

/**
 * Sorts stored positives by what they ask for.
 *
 * `due`: as long without a look as the job type's `rescanEvery`, counted from its newest look. `failing`: its forecast reaches a limit before the
 * date asked for. `overtaken`: a newer positive says that it replaces it, or it was printed anew under its own name (the older print).
 * A positive that fails today and was not let through is in nobody's drawer as good: it is neither due nor predicted. One that another
 * replaces, or that was taken out (`retired`), is not looked after any more. A job type that is not usable says nothing of when its positives are due, which is told.
 * @param stored one a positive; `scannedAt` ISO 8601, as the history checked it
 */
export function findDrawers(
  stored: readonly StoredPositive[],
  jobTypes: ReadonlyMap<string, Pick<JobType, 'rescanEveryDays'>>,
  { now, before }: DrawerQuestion,
): Drawers {
  const due: Extract<DrawerEntry, { kind: 'due' }>[] = []
  const failing: Extract<DrawerEntry, { kind: 'failing' }>[] = []
  const overtaken: Extract<DrawerEntry, { kind: 'overtaken' }>[] = []
  const retired: Extract<DrawerEntry, { kind: 'retired' }>[] = []
  const unknown = new Set<string>()
  let unknownCount = 0
  for (const film of stored) {
    const { replacedBy, reprintedAt } = film
    if (film.retired !== null) {
      retired.push({ kind: 'retired', stored: film, since: film.retired.at, because: film.retired.because })
      continue
    }
    if (replacedBy !== null) {
      overtaken.push({ kind: 'overtaken', stored: film, by: replacedBy.positive, since: replacedBy.scannedAt })
      continue
    }
    if (reprintedAt !== null && !film.olderRetired)
      overtaken.push({ kind: 'overtaken', stored: film, by: null, since: reprintedAt })
    if (film.verdict === 'fail' && !film.accepted) continue
    const odds = oddsOf(film, before)
    if (odds !== null && film.forecast !== null)
      failing.push({ kind: 'failing', stored: film, forecast: film.forecast, odds })
    const jobType = jobTypes.get(film.jobType)
    if (jobType === undefined) {
      unknown.add(film.jobType)
      unknownCount++
    } else if (jobType.rescanEveryDays !== null) {
      const dueMs = Date.parse(film.scannedAt) + jobType.rescanEveryDays * DAY_MS
      if (dueMs <= now.getTime())
        due.push({
          kind: 'due',
          stored: film,
          dueOn: new Date(dueMs).toISOString(),
          everyDays: jobType.rescanEveryDays,
        })
    }
  }
  return {
    due: inOrder(due, entry => Date.parse(entry.dueOn)),
    failing: inOrder(failing, entry => Date.parse(entry.forecast.on)),
    overtaken: inOrder(overtaken, entry => -Date.parse(entry.since)),
    retired: inOrder(retired, entry => -Date.parse(entry.since)),
    before: before.toISOString(),
    unknown: { count: unknownCount, jobTypes: [...unknown].sort() },
  }
}

function inOrder<Entry>(entries: readonly Entry[], ms: (entry: Entry) => number): Entry[] {
  return entries
    .map(entry => ({ entry, ms: ms(entry) }))
    .sort((a, b) => a.ms - b.ms)
    .map(({ entry }) => entry)
}

/** Whether a limit is reached before a date: by the forecast's middle, or only by the earlier end of its 80 % interval. */
function oddsOf({ forecast }: StoredPositive, before: Date): 'expected' | 'possible' | null {
  if (forecast === null) return null
  if (Date.parse(forecast.on) < before.getTime()) return 'expected'
  return Date.parse(forecast.earliest) < before.getTime() ? 'possible' : null
}

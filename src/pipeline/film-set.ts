import { judgeReading } from '../judge/judge-reading.js'
import type { FilmSet, SetFilmSource, SetLeftOut } from '../model/film-set.js'
import type { Inspection, Verdict } from '../model/inspection.js'
import type { JobType } from '../model/job-type.js'
import { ProblemError } from '../model/problem.js'
import type { Store } from '../model/store.js'
import { fitFilmSet } from '../trend/fit-film-set.js'
import type { JobTypeShelf } from './inspect-scan.js'

/** The films of a job against each other, held against the limit on `registerError` of their job types. */
export interface SetOutcome extends FilmSet {
  /** The job's name, or the positives that were named. */
  readonly job: string
  /** The strictest limit of the films' job types, um; null when none has one. */
  readonly limit: number | null
  /** Null when there is no limit to hold it against. */
  readonly verdict: Verdict | null
}

/** A film whose name goes on after the job's with one of these is of that job. */
const GOES_ON = /^[-_. ]/
/** What may be said of a reading's budget that comes of the scanner's own scale. */
const OF_SCANNER = /^scanner/

/**
 * Takes the newest inspection of each film of a job that was laid on its own separation, and holds the films against each other.
 * @param names one: the job, which is a positive's name or what several begin with; several: the positives themselves
 * @throws ProblemError INSPECTION_UNKNOWN when no film is of that name, DATABASE_*
 */
export async function filmSet(
  names: readonly string[],
  {
    store,
    jobTypes,
  }: { readonly store: Pick<Store, 'board' | 'byPositive'>; readonly jobTypes: () => Promise<JobTypeShelf> },
): Promise<SetOutcome> {
  const told = names.map(name => name.normalize('NFC'))
  const known = (await store.board()).map(row => row.positive)
  const ofJob = (name: string) =>
    known.filter(one => one === name || (one.startsWith(name) && GOES_ON.test(one.slice(name.length))))
  const positives = told.length === 1 ? ofJob(told[0]!) : [...new Set(told)]
  for (const name of told)
    if (told.length === 1 ? positives.length === 0 : !known.includes(name))
      throw new ProblemError('INSPECTION_UNKNOWN', name)
  const sources: SetFilmSource[] = []
  const left: SetLeftOut[] = []
  const jobTypeNames = new Set<string>()
  for (const positive of positives.sort()) {
    const inspections = await store.byPositive(positive)
    const newest = inspections.filter(one => one.standing?.kind !== 'apart').at(-1) ?? inspections.at(-1)!
    const source = sourceOf(newest)
    if ('because' in source) left.push(source)
    else {
      sources.push(source)
      jobTypeNames.add(newest.jobType)
    }
  }
  const set = fitFilmSet(sources)
  const { types } = await jobTypes()
  const limited = [...jobTypeNames]
    .flatMap(name => types.get(name) ?? [])
    .filter(type => type.limits.registerError?.max !== undefined)
  const limit = limited.length === 0 ? null : Math.min(...limited.map(type => type.limits.registerError!.max!))
  const rule = limited.every(type => type.rule === 'simple') ? 'simple' : 'guarded'
  return {
    job: told.join(', '),
    ...set,
    left: [...left, ...set.left],
    limit,
    verdict: limit === null ? null : verdictOf(set, limit, rule, left.length + set.left.length),
  }
}

/** A whole set passes only when every film took part; a guarded limit unless every job type of it is judged simply. */
function verdictOf({ pairs }: FilmSet, limit: number, rule: JobType['rule'], leftOut: number): Verdict {
  const each = pairs.map(
    ({ registerError }) => judgeReading({ ...registerError, bound: null }, { max: limit }, rule).verdict,
  )
  if (each.includes('fail')) return 'fail'
  return each.length > 0 && leftOut === 0 && each.every(one => one === 'pass') ? 'pass' : 'recheck'
}

function sourceOf({
  positive,
  id,
  scannedAt,
  artwork,
  readings,
  scanner,
  scan,
}: Inspection): SetFilmSource | SetLeftOut {
  const leave = (because: string, next: string): SetLeftOut => ({ positive, because, next })
  if (artwork === undefined)
    return leave(
      'its newest scan was inspected without its artwork',
      'put its separation into inbox/artwork/ under its name and scan it again',
    )
  const { map, umPerPixel, widthMm, heightMm, matches } = artwork
  if (matches === false)
    return leave('the artwork given is not this film’s', 'put its own separation into inbox/artwork/ and scan it again')
  const { sizeErrorAcross: across, sizeErrorFeed: feed } = readings
  if (map === null || widthMm === null || heightMm === null || across === undefined || feed === undefined)
    return leave(
      'its size could not be told',
      'see its report; print it with marks that have edges on all sides, and scan all of it',
    )
  if (umPerPixel === undefined)
    return leave('it was inspected by an earlier version', 'drop its scan into the inbox once more')
  const part = (budget: typeof across.budget, scanners: boolean) =>
    Math.hypot(...budget.filter(c => OF_SCANNER.test(c.name) === scanners).map(c => c.standard)) / 100
  // Of the scanner's two axes only what the film's two directions took of them is on record: the larger stands for both.
  const scale = Math.max(part(across.budget, true), part(feed.budget, true))
  return {
    positive,
    id,
    scannedAt,
    frame: { widthMm, heightMm },
    map,
    umPerPixel,
    scale: scanner === null ? `scan ${id}` : `${scanner.name} ${scanner.calibratedAt} ${scan.dpi.join('x')}`,
    scaleStandard: { across: scale, along: scale },
    fitStandard: { across: part(across.budget, false), feed: part(feed.budget, false) },
    unevenUm: artwork.residualUm,
  }
}

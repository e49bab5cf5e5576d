import { readdir, readFile } from 'node:fs/promises'
import { basename, dirname, join } from 'node:path'
import type { ScanArrival } from '../model/arrival.js'
import { ProblemError } from '../model/problem.js'
import { archiveScan } from './archive-scan.js'
import { concludeLadder, type LadderOutcome } from './conclude-ladder.js'
import { hashFile } from './hash-file.js'
import type { InspectContext, JobTypeShelf } from './inspect-scan.js'
import { type LadderScan, readLadderScan } from './ladder-scan.js'
import { type PlannedLadder, planLadder } from './plan-ladder.js'
import type { WorkspacePaths } from './workspace-paths.js'
import { writeWhole } from './write-whole.js'

export interface LadderInboxContext extends Omit<InspectContext, 'store' | 'onStep' | 'jobTypes' | 'calibrations'> {
  readonly paths: Pick<WorkspacePaths, 'ladderInbox' | 'ladders' | 'reports' | 'printSettings' | 'archive'>
  /** A folder of this process alone, on the workspace's disk. */
  readonly temporary: string
  readonly load: () => Promise<Pick<InspectContext, 'jobTypes' | 'calibrations'>>
}

/** What became of a ladder's scan that was dropped into the inbox. */
export interface LadderArrival {
  /** The ladder with all scans of it that have come. */
  readonly outcome: LadderOutcome
  /** Scans of it so far. */
  readonly scans: number
}

const SCHEMA = 'burngate/ladder-scan@1'

/**
 * Takes scans of ink ladders from the inbox: each is read, archived and kept with what it told; then the whole ladder is worked out anew from
 * all scans of it that have come. Doing the same scan twice changes nothing. Plans are the YAML files that lie in `inbox/ladder/`.
 * @returns a function that takes one scan; scans asked at once are measured side by side, and concluded one after the other
 */
export function ladderInInbox(context: LadderInboxContext): (arrival: ScanArrival) => Promise<LadderArrival> {
  let turn: Promise<unknown> = Promise.resolve()
  return async arrival => {
    const loaded = await context.load()
    const planned = await planOf(arrival, context, loaded.jobTypes)
    const { plan } = planned
    const hashed = await hashFile(arrival.file)
    const scan = await readLadderScan(arrival, plan, { ...context, ...loaded }, hashed)
    if (scan.samples.length === 0) throw asProblem(scan)
    const { format } = await context.readHeader(arrival.file, context.site.channel)
    const { paths, temporary, now } = context
    await archiveScan({
      arrival,
      sha256: hashed.sha256,
      state: hashed.state,
      format,
      archive: paths.archive,
      temporary,
      now: now(),
      mayLink: true,
    })
    // Kept before anything is said of it: whoever is killed between reads the scan once more and comes to the same.
    await writeWhole(
      join(paths.ladders, plan.name, `${scan.sha256}.json`),
      `${JSON.stringify({ schema: SCHEMA, ...scan })}\n`,
    )
    const conclude = async (): Promise<LadderArrival> => {
      const scans = await keptScans(join(paths.ladders, plan.name))
      const outcome = await concludeLadder(planned, scans, [], {
        site: context.site,
        now,
        software: context.software,
        reports: paths.reports,
        settings: paths.printSettings,
      })
      return { outcome, scans: scans.length }
    }
    const mine = turn.catch(() => {}).then(conclude)
    turn = mine
    return mine
  }
}

/** A scan that told nothing is no scan of the ladder: its first reason. */
function asProblem({ file, unread }: LadderScan): ProblemError {
  const first = unread[0]?.problem
  if (first === undefined) return new ProblemError('LADDER_NOTHING_READ', file)
  return Object.assign(new ProblemError(first.code), { problem: first })
}

/** Every scan of a ladder that was kept, in the order they were made. One that is damaged is left out: its scan is in the archive. */
async function keptScans(folder: string): Promise<readonly LadderScan[]> {
  const scans: LadderScan[] = []
  for (const name of (await readdir(folder)).filter(one => one.endsWith('.json'))) {
    try {
      const kept = JSON.parse(await readFile(join(folder, name), 'utf8')) as LadderScan & { schema: string }
      if (kept.schema === SCHEMA) scans.push(kept)
    } catch {
      // Not whole, by another hand: what it told is told again when its scan is dropped once more.
    }
  }
  return scans.sort((a, b) =>
    a.scannedAt < b.scannedAt ? -1 : a.scannedAt > b.scannedAt ? 1 : a.file < b.file ? -1 : 1,
  )
}

/**
 * The plan a scan belongs to: as the codes of its strips say, its sidecar (`positive`), the sub-folder it lies in, or the only plan there is.
 * @throws ProblemError LADDER_PLAN_UNKNOWN, or as `planLadder`
 */
async function planOf(arrival: ScanArrival, context: LadderInboxContext, shelf: JobTypeShelf): Promise<PlannedLadder> {
  const { paths, site } = context
  const files = (await readdir(paths.ladderInbox)).filter(name => PLAN.test(name) && !SIDECAR.test(name)).sort()
  const planned: PlannedLadder[] = []
  let refused: ProblemError | null = null
  for (const name of files) {
    try {
      planned.push(await planLadder(join(paths.ladderInbox, name), shelf))
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error
      // A plan that cannot be carried out is the plan's fault, never the scan's.
      refused ??= new ProblemError('LADDER_PLAN_INVALID', `inbox/ladder/${name}: ${error.problem.what}`)
    }
  }
  const dpi = arrival.sidecar?.facts.dpi
  const seen = await context.lookForStrip?.({
    file: arrival.file,
    channel: site.channel,
    dpi: dpi === undefined ? null : { across: dpi, along: dpi },
    calibration: null,
  })
  const folder = basename(dirname(arrival.file))
  const said =
    seen?.look.identity?.positive ??
    arrival.sidecar?.facts.positive ??
    (folder.toLowerCase() === basename(paths.ladderInbox) ? null : folder)
  const found =
    said === null ? (planned.length === 1 ? planned[0] : undefined) : planned.find(one => one.plan.name === said)
  if (found !== undefined) return found
  if (refused !== null) throw refused
  const there =
    planned.length === 0
      ? 'there is none'
      : `there ${planned.length === 1 ? 'is' : 'are'} ${planned.map(one => one.plan.name).join(', ')}`
  throw new ProblemError(
    'LADDER_PLAN_UNKNOWN',
    said === null
      ? `${arrival.name} does not say which plan it is of; ${there}`
      : `${arrival.name} is of "${said.slice(0, 60)}"; ${there}`,
  )
}

const PLAN = /^[^.].*\.ya?ml$/i
const SIDECAR = /\.(tiff?|png)\.ya?ml$/i

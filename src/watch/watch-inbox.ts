import { readFile, rm, stat } from 'node:fs/promises'
import { basename, join } from 'node:path'
import { type FSWatcher, watch } from 'chokidar'
import PQueue from 'p-queue'
import type { InspectionOutcome, ScanArrival, UnpackedScan } from '../model/arrival.js'
import { type Problem, type ProblemCode, ProblemError, problem } from '../model/problem.js'
import type { Sidecar, SiteSettings } from '../model/site.js'
import { type InboxTask, inboxTasks } from './inbox-tasks.js'
import type { Journal, JournalEntry } from './journal.js'
import { type InboxEntry, type InboxScan, isLadderScan, listInbox } from './list-inbox.js'
import { moveFile, rejectFile } from './reject-file.js'
import { RestTimer } from './rest-timer.js'

/** What a watcher tells as it goes; `file` is the path from the inbox. */
export type WatchEvent<Ladder = unknown> =
  | { readonly kind: 'begun'; readonly file: string }
  /** `resumed`: the last run had got so far and this one finished it. */
  | {
      readonly kind: 'inspected'
      readonly file: string
      /** The other scans of a bracket. */
      readonly further?: readonly string[]
      readonly outcome: InspectionOutcome
      readonly resumed: boolean
    }
  /** A scan of an ink ladder; `outcome` as whoever reads ladders tells it. */
  | { readonly kind: 'ladder'; readonly file: string; readonly outcome: Ladder }
  | { readonly kind: 'rejected'; readonly file: string; readonly problem: Problem; readonly place: string }
  /** Left in the inbox and tried again: not the scan's fault. */
  | { readonly kind: 'held'; readonly file: string; readonly problem: Problem }
  /** Our own fault; left in the inbox until it changes or the watcher starts again. */
  | { readonly kind: 'fault'; readonly file: string; readonly error: unknown }
  | { readonly kind: 'note'; readonly text: string }

export interface WatchContext<Ladder = unknown> {
  readonly inbox: string
  readonly rejected: string
  readonly site: Pick<
    SiteSettings,
    'settleSeconds' | 'sidecarWaitSeconds' | 'bracketWaitSeconds' | 'usePolling' | 'workers'
  >
  readonly journal: Journal
  /** Inspects into the workspace; must be able to do the same scan twice without harm. */
  readonly inspect: (arrival: ScanArrival) => Promise<InspectionOutcome>
  /** Reads a scan of an ink ladder; must be able to do the same scan twice without harm. */
  readonly readLadder: (arrival: ScanArrival) => Promise<Ladder>
  /** Opens a scan and decodes all of it; answers what a packed one was unpacked to, if it was. @throws ProblemError when it is cut short, unfinished, damaged or no scan */
  readonly checkWhole: (file: string) => Promise<UnpackedScan | null>
  /** Deletes what `checkWhole` left. Safe where it is gone already. */
  readonly forget: (unpacked: UnpackedScan) => void
  readonly readSidecar: (text: string, file: string) => Sidecar
  /** Which bracket a file name says its scan belongs to. */
  readonly bracketName: (fileName: string) => { readonly bracket: string; readonly of: number | null } | null
  readonly now: () => Date
  /** A clock that only goes forward, ms. */
  readonly tick: () => number
  readonly tell: (event: WatchEvent<Ladder>) => void
  /** Called about every ten seconds; false: stop, somebody else has the workspace. */
  readonly beat: () => Promise<boolean>
  readonly stop: AbortSignal
  /** Work off what is there, then leave; nothing is waited for. */
  readonly once: boolean
  /** How long a scan may lie still and be incomplete before it is rejected, s. */
  readonly patienceSeconds?: number
}

/** A scan cut short may still be continued: scanner programs pause between passes. */
const PATIENCE_S = 60
/** What is not the scan's fault is tried again after so long, ms. */
const HELD_MS = 30_000
/** An incomplete scan is looked at again after so long, ms. */
const LOOK_AGAIN_MS = 3_000
/** Notices can fail silently (a folder replaced, a share): the inbox is looked at by the clock as well, ms. */
const LOOK_MS = 10_000
const POLL_MS = 2_000
const BEAT_MS = 10_000
const SWARM_MS = 50
/** The first scan of a bracket may lie alone this many times as long as a bracket waits for a further one: the next is being made. */
const ALONE_WAITS = 5
/** In `once`, a file that will not come to rest is left after so long, ms. */
const NEVER_STILL_MS = 60_000

/** May be healed by waiting. */
const NOT_YET: ReadonlySet<ProblemCode> = new Set<ProblemCode>([
  'SCAN_TRUNCATED',
  'SCAN_UNFINISHED',
  'FILE_EMPTY',
  'FILE_NOT_READABLE',
])

/** Not the scan's fault: the shop's settings, the disk, the database. */
const NOT_THE_SCANS_FAULT: ReadonlySet<ProblemCode> = new Set<ProblemCode>([
  'SETTINGS_INVALID',
  'DATABASE_UNUSABLE',
  'DATABASE_BUSY',
  'FILE_NOT_WRITABLE',
  'CALIBRATION_FILE_INVALID',
  'WORKSPACE_MISSING',
  'WORKSPACE_BUSY',
  'LADDER_PLAN_INVALID',
  'LADDER_PLAN_UNKNOWN',
  'LADDER_PAPER_TOO_SMALL',
])

/**
 * Watches an inbox: each scan that has come to rest and is whole is inspected once and leaves the inbox; what cannot be
 * inspected goes to `rejected/` with the reason. What the last run left half-way is finished first. Ends when stopped
 * (what is being inspected is finished), or with `once` when the inbox is worked off.
 * @throws ProblemError WORKSPACE_BUSY when the lock was lost to another watcher
 */
export async function watchInbox<Ladder>(context: WatchContext<Ladder>): Promise<void> {
  const watcher = new InboxWatcher(context)
  try {
    await watcher.run()
  } finally {
    await watcher.close()
  }
}

interface Waiting {
  /** Not before this tick. */
  readonly untilMs: number
  /** The state it was in; a change ends the waiting. */
  readonly state: string
}

class InboxWatcher<Ladder> {
  readonly #context: WatchContext<Ladder>
  readonly #rest = new RestTimer()
  readonly #queue: PQueue
  readonly #busy = new Set<string>()
  readonly #waiting = new Map<string, Waiting>()
  readonly #told = new Set<string>()
  /** What sidecars say of brackets, by their path and state. */
  readonly #brackets = new Map<string, string | null>()
  readonly #resumed: Map<string, JournalEntry>
  #notices: FSWatcher | null = null
  #noticesIno = -1
  #wake: () => void = () => {}
  #woken = false
  #beatAt = Number.NEGATIVE_INFINITY

  constructor(context: WatchContext<Ladder>) {
    this.#context = context
    this.#queue = new PQueue({ concurrency: context.site.workers })
    this.#resumed = new Map(context.journal.unfinished.map(entry => [entry.file, entry]))
    context.stop.addEventListener('abort', () => this.#wakeUp(), { once: true })
  }

  async run(): Promise<void> {
    const { stop, once } = this.#context
    await this.#finishLeftOvers()
    while (!stop.aborted) {
      await this.#beat()
      const restMs = await this.#look()
      if (stop.aborted) break
      if (once && restMs === null && this.#queue.size === 0 && this.#queue.pending === 0) return
      await this.#sleep(restMs)
    }
    this.#queue.clear()
    await this.#queue.onIdle()
  }

  async close(): Promise<void> {
    this.#queue.clear()
    await this.#queue.onIdle()
    await this.#notices?.close()
  }

  async #beat(): Promise<void> {
    const { tick, beat } = this.#context
    if (tick() - this.#beatAt < BEAT_MS) return
    this.#beatAt = tick()
    if (!(await beat())) throw new ProblemError('WORKSPACE_BUSY', 'its lock was taken over')
  }

  /** Looks at the inbox once and sets to work what is ready. Returns how long until something may be, null for nothing in sight. */
  async #look(): Promise<number | null> {
    const { inbox, once, site, tick, patienceSeconds } = this.#context
    const listing = await listInbox(inbox)
    if (listing === null) {
      this.#noteOnce('inbox is gone', 'The inbox is not there; waiting until it is back.')
      await this.#armNotices(-1)
      return once ? null : POLL_MS
    }
    this.#told.delete('inbox is gone')
    await this.#armNotices(listing.rootIno)
    for (const note of listing.notes) this.#noteOnce(note, note)

    const now = tick()
    const everything = [...listing.scans, ...listing.scans.flatMap(s => s.sidecar ?? []), ...listing.lone]
    this.#rest.keepOnly(new Set(everything.map(entry => entry.relative)))
    for (const entry of everything) this.#rest.look(entry, now)

    const settleMs = site.settleSeconds * 1000
    const sidecarMs = once ? 0 : site.sidecarWaitSeconds * 1000
    let soonest: number | null = null
    const within = (ms: number) => {
      soonest = Math.min(soonest ?? Number.POSITIVE_INFINITY, Math.max(ms, 20))
    }
    const said = new Map<string, { bracket: string; of: number | null } | null>()
    for (const scan of listing.scans) said.set(scan.relative, await this.#bracketOf(scan))
    for (const task of inboxTasks(listing.scans, scan => said.get(scan.relative) ?? null)) {
      const { lead, scans } = task
      // While some of a bracket are worked on, a further one waits for what becomes of them.
      if (scans.some(scan => this.#busy.has(scan.relative))) continue
      const waiting = this.#waiting.get(lead.relative)
      if (waiting !== undefined && waiting.state === stateOf(task)) {
        if (now < waiting.untilMs) {
          if (waiting.untilMs !== Number.POSITIVE_INFINITY) within(waiting.untilMs - now)
          continue
        }
      } else if (waiting !== undefined) this.#waiting.delete(lead.relative)
      const rested = Math.min(
        ...scans
          .flatMap(scan => [scan, ...(scan.sidecar === null ? [] : [scan.sidecar])])
          .map(entry => this.#rest.restedMs(entry, now)),
      )
      const present = Math.max(...scans.map(scan => this.#rest.presentMs(scan, now)))
      const resumed = scans.every(scan => this.#resumed.has(scan.relative))
      // Of a bracket any sidecar will do, and there is time for it while the others are awaited.
      const lone = task.bracket === null && lead.sidecar === null
      const furtherMs = once || resumed ? 0 : this.#awaitedMs(task)
      if (rested < settleMs) {
        if (once && present > Math.max(NEVER_STILL_MS, 2 * settleMs))
          this.#leave(task, problem('SCAN_STILL_GROWING', `${Math.round(present / 1000)} s`))
        else within(settleMs - rested)
      } else if (lone && present < sidecarMs && !resumed) {
        this.#noteOnce(
          `waits ${lead.relative} ${stateOf(task)}`,
          `${lead.relative} has come; it is inspected in ${Math.ceil((sidecarMs - present) / 1000)} s, or when its sidecar comes.`,
        )
        within(sidecarMs - present)
      } else if (rested < furtherMs) {
        this.#noteOnce(
          `waits ${lead.relative} ${stateOf(task)}`,
          `Of the bracket ${task.bracket} ${scans.length === 1 ? '1 scan has' : `${scans.length} scans have`} come; ${scans.length === 1 ? 'the others are' : 'a further one is'} awaited for ${Math.ceil((furtherMs - rested) / 1000)} s.`,
        )
        within(furtherMs - rested)
      } else {
        const patienceMs = once ? 0 : (patienceSeconds ?? PATIENCE_S) * 1000
        for (const scan of scans) this.#busy.add(scan.relative)
        void this.#queue
          .add(() => this.#work(task, rested >= patienceMs))
          .finally(() => {
            for (const scan of scans) this.#busy.delete(scan.relative)
            this.#wakeUp()
          })
          .catch(() => {})
      }
    }
    for (const sidecar of listing.lone) {
      const present = this.#rest.presentMs(sidecar, now)
      if (once || present > sidecarMs + PATIENCE_S * 1000)
        this.#noteOnce(
          `lone ${sidecar.relative}`,
          `inbox/${sidecar.relative} has no scan beside it; it stays until its scan comes. Remove it if it came too late.`,
        )
    }
    return soonest
  }

  /** For how long a bracket must have rested before it counts as complete, ms. */
  #awaitedMs({ bracket, scans, of }: InboxTask): number {
    if (bracket === null || (of !== null && scans.length >= of)) return 0
    const waitMs = this.#context.site.bracketWaitSeconds * 1000
    return scans.length === 1 || of !== null ? ALONE_WAITS * waitMs : waitMs
  }

  /** The bracket a scan belongs to, by its sidecar or else its name. */
  async #bracketOf(scan: InboxScan): Promise<{ bracket: string; of: number | null } | null> {
    const { bracketName, readSidecar } = this.#context
    // What stands behind the second `__` of a ladder's scan is a level.
    if (isLadderScan(scan)) return null
    const named = bracketName(scan.name)
    const { sidecar } = scan
    if (sidecar === null) return named
    const key = `${sidecar.relative} ${sidecar.size} ${sidecar.mtimeMs} ${sidecar.ino}`
    let told = this.#brackets.get(key)
    if (told === undefined) {
      // One that cannot be read, or is wrong, is heard of when its scan is inspected.
      told = await this.#sidecarOf(sidecar, readSidecar).then(
        found => found?.facts.bracket ?? null,
        () => null,
      )
      this.#brackets.set(key, told)
    }
    return told === null ? named : { bracket: told, of: named?.of ?? null }
  }

  async #work(task: InboxTask, outOfPatience: boolean): Promise<void> {
    if (this.#context.stop.aborted) return
    try {
      await this.#inspect(task).catch((error: unknown) => this.#answer(task, asProblem(error), outOfPatience))
    } catch (error) {
      this.#wait(task, Number.POSITIVE_INFINITY)
      this.#context.tell({ kind: 'fault', file: task.lead.relative, error })
    }
  }

  /** What is done about a scan that could not be inspected. */
  async #answer(task: InboxTask, error: unknown, outOfPatience: boolean): Promise<void> {
    if (!(error instanceof ProblemError)) throw error
    const { code } = error.problem
    if (code === 'FILE_MISSING') return
    if (NOT_THE_SCANS_FAULT.has(code)) this.#leave(task, error.problem)
    else if (code === 'SCAN_STILL_GROWING' && this.#context.once) this.#leave(task, error.problem)
    else if (code === 'SCAN_STILL_GROWING' || (NOT_YET.has(code) && !outOfPatience))
      this.#wait(task, this.#context.tick() + LOOK_AGAIN_MS)
    else await this.#reject(task, error.problem)
  }

  async #inspect(task: InboxTask): Promise<void> {
    const unpacked: UnpackedScan[] = []
    try {
      await this.#inspectChecked(task, unpacked)
    } finally {
      for (const one of unpacked) this.#context.forget(one)
    }
  }

  /** @param unpacked gets what the checks unpacked */
  async #inspectChecked(task: InboxTask, unpacked: UnpackedScan[]): Promise<void> {
    const { checkWhole, inspect, readLadder, readSidecar, tell } = this.#context
    const { lead, scans } = task
    const arrivals: ScanArrival[] = []
    for (const scan of scans) {
      try {
        const left = await checkWhole(scan.path)
        if (left !== null) unpacked.push(left)
        const sidecar = scan.sidecar === null ? null : await this.#sidecarOf(scan.sidecar, readSidecar)
        const fileTime = new Date(scan.mtimeMs).toISOString()
        const known = left === null ? {} : { unpacked: left }
        arrivals.push({ file: scan.path, name: scan.name, folder: scan.folder, fileTime, sidecar, told: {}, ...known })
      } catch (error) {
        throw task.bracket === null ? error : named(asProblem(error), scan)
      }
    }
    if (task.bracket !== null && scans.length < 2)
      throw new ProblemError('BRACKET_ONE_SCAN', `only ${lead.name} came; drop all of them again`)
    const resumed = scans.every(scan => {
      const left = this.#resumed.get(scan.relative)
      return left !== undefined && left.size === scan.size && left.mtimeMs === scan.mtimeMs
    })
    await this.#note(task, 'taken')
    tell({ kind: 'begun', file: lead.relative })
    const [first] = arrivals
    const event = isLadderScan(lead)
      ? ({ kind: 'ladder', file: lead.relative, outcome: await readLadder(first!) } as const)
      : ({
          kind: 'inspected',
          file: lead.relative,
          ...(scans.length === 1 ? {} : { further: scans.slice(1).map(scan => scan.relative) }),
          outcome: await inspect(scans.length === 1 ? first! : { ...first!, bracket: arrivals.slice(1) }),
        } as const)
    // Of a bracket all are said to be recorded before the first leaves: what a crash leaves of it is only cleared away.
    await this.#note(task, 'recorded')
    for (const scan of scans)
      if (await unchanged(scan)) {
        await removed(scan.path)
        if (scan.sidecar !== null) await removed(scan.sidecar.path)
      }
    await this.#note(task, 'finished')
    for (const scan of scans) this.#resumed.delete(scan.relative)
    tell(event.kind === 'ladder' ? event : { ...event, resumed: resumed && event.outcome.known })
  }

  /** Writes down how far the scans of a task have got. */
  async #note({ lead, scans, bracket }: InboxTask, state: JournalEntry['state'], reason?: Problem): Promise<void> {
    const { journal, now } = this.#context
    for (const scan of scans)
      await journal.write({
        file: scan.relative,
        size: scan.size,
        mtimeMs: scan.mtimeMs,
        sidecar: scan.sidecar?.relative ?? null,
        state,
        at: now().toISOString(),
        ...(bracket === null ? {} : { bracket: lead.relative }),
        ...(bracket === null || reason === undefined ? {} : { problem: reason }),
      })
  }

  async #sidecarOf(entry: InboxEntry, parse: WatchContext['readSidecar']): Promise<ScanArrival['sidecar']> {
    let text: string
    try {
      text = await readFile(entry.path, 'utf8')
    } catch (error) {
      throw new ProblemError('FILE_NOT_READABLE', `${entry.name}: ${(error as NodeJS.ErrnoException).code}`)
    }
    return { text, facts: parse(text, entry.name) }
  }

  /** Out of the inbox, with the reason. The journal knows, so that nothing is left behind by a crash in between. */
  async #reject(task: InboxTask, reason: Problem): Promise<void> {
    const { now, rejected, tell } = this.#context
    try {
      await this.#note(task, 'rejected', reason)
      for (const scan of task.scans) {
        const place = await rejectFile(scan.path, rejected, reason, now())
        if (scan.sidecar !== null) await setAside(scan.sidecar.path, rejected)
        this.#resumed.delete(scan.relative)
        tell({ kind: 'rejected', file: scan.relative, problem: reason, place })
      }
      await this.#note(task, 'finished')
    } catch (error) {
      const refused = asProblem(error)
      if (!(refused instanceof ProblemError)) throw error
      this.#leave(task, refused.problem)
    }
  }

  /** Leaves a scan in the inbox and says why, once for each reason. */
  #leave(task: InboxTask, reason: Problem): void {
    const { once, tick, tell } = this.#context
    this.#wait(task, once ? Number.POSITIVE_INFINITY : tick() + HELD_MS)
    const key = `held ${task.lead.relative} ${reason.what}`
    if (this.#told.has(key)) return
    this.#told.add(key)
    tell({ kind: 'held', file: task.lead.relative, problem: reason })
  }

  #wait(task: InboxTask, untilMs: number): void {
    this.#waiting.set(task.lead.relative, { untilMs, state: stateOf(task) })
  }

  #noteOnce(key: string, text: string): void {
    if (this.#told.has(key)) return
    this.#told.add(key)
    this.#context.tell({ kind: 'note', text })
  }

  /** Clears what a crash left between a scan's leaving the inbox and its sidecar's. */
  async #finishLeftOvers(): Promise<void> {
    const { inbox, journal, now, rejected, tell } = this.#context
    for (const entry of journal.unfinished) {
      if (await this.#broughtToEnd(entry)) continue
      if (await stat(join(inbox, entry.file)).catch(() => null)) continue
      if (entry.sidecar !== null && entry.state !== 'taken') {
        const sidecar = join(inbox, entry.sidecar)
        if (entry.state === 'recorded') await rm(sidecar, { force: true })
        else await setAside(sidecar, rejected)
      }
      if (entry.state === 'taken')
        tell({ kind: 'note', text: `${entry.file} was begun by an earlier run and is no longer in the inbox.` })
      await journal.write({ ...entry, state: 'finished', at: now().toISOString() })
      this.#resumed.delete(entry.file)
    }
  }

  /** The rest of a bracket that a crash left in the inbox after its outcome was safe: it goes the way the others went. */
  async #broughtToEnd(entry: JournalEntry): Promise<boolean> {
    const { inbox, journal, now, rejected, tell } = this.#context
    if (entry.bracket === undefined || entry.state === 'taken') return false
    const path = join(inbox, entry.file)
    const state = await stat(path).catch(() => null)
    if (state === null || state.size !== entry.size || state.mtimeMs !== entry.mtimeMs) return false
    if (entry.state === 'recorded') {
      await removed(path)
      if (entry.sidecar !== null) await removed(join(inbox, entry.sidecar))
    } else if (entry.problem !== undefined) {
      const place = await rejectFile(path, rejected, entry.problem, now())
      if (entry.sidecar !== null) await setAside(join(inbox, entry.sidecar), rejected)
      tell({ kind: 'rejected', file: entry.file, problem: entry.problem, place })
    } else return false
    await journal.write({ ...entry, state: 'finished', at: now().toISOString() })
    this.#resumed.delete(entry.file)
    return true
  }

  /** Listens to the folder that is there now; a folder made anew under the same name needs new ears. */
  async #armNotices(rootIno: number): Promise<void> {
    const { inbox, once, site } = this.#context
    if (once || site.usePolling || rootIno === this.#noticesIno) return
    this.#noticesIno = rootIno
    await this.#notices?.close()
    this.#notices = null
    if (rootIno === -1) return
    this.#notices = watch(inbox, { ignoreInitial: true, followSymlinks: false, depth: 6 })
      .on('all', () => this.#wakeUp())
      .on('error', error =>
        this.#noteOnce(
          'no notices',
          `The system sends no notices about the inbox (${(error as Error).message}); it is looked at every ${LOOK_MS / 1000} s.`,
        ),
      )
  }

  #wakeUp(): void {
    this.#woken = true
    this.#wake()
  }

  /** Until something may be ready, a notice comes, a scan is done or the watcher is stopped. */
  async #sleep(restMs: number | null): Promise<void> {
    const longest = this.#context.site.usePolling ? POLL_MS : LOOK_MS
    if (!this.#woken)
      await new Promise<void>(resolve => {
        const timer = setTimeout(resolve, Math.min(restMs ?? longest, longest))
        this.#wake = () => {
          clearTimeout(timer)
          resolve()
        }
      })
    this.#wake = () => {}
    // Notices come in swarms while a scan is written.
    await new Promise(resolve => setTimeout(resolve, SWARM_MS))
    this.#woken = false
  }
}

/** What the disk refuses, a full one or a share gone away, is no fault of the program's. */
function asProblem(error: unknown): unknown {
  if (error instanceof ProblemError || !(error instanceof Error)) return error
  const { code, syscall, path } = error as NodeJS.ErrnoException
  if (code === undefined || syscall === undefined) return error
  return new ProblemError('FILE_NOT_WRITABLE', `${path ?? syscall}: ${code}`)
}

function stateOf({ scans }: InboxTask): string {
  return scans
    .map(({ relative, size, mtimeMs, ino, sidecar }) =>
      [relative, size, mtimeMs, ino, sidecar?.size, sidecar?.mtimeMs].join(' '),
    )
    .join('\n')
}

/** The problem of one scan of a bracket, told to all of them. */
function named(error: unknown, scan: InboxScan): unknown {
  if (!(error instanceof ProblemError)) return error
  const { code, what, next } = error.problem
  const about = new ProblemError(code)
  return Object.assign(about, { problem: { code, what: `${scan.name}: ${what}`, next } })
}

/** A scan dropped under the same name meanwhile is another scan, and stays. */
async function unchanged(scan: InboxScan): Promise<boolean> {
  const state = await stat(scan.path).catch(() => null)
  return state !== null && state.size === scan.size && state.mtimeMs === scan.mtimeMs && state.ino === scan.ino
}

async function removed(file: string): Promise<void> {
  try {
    await rm(file, { force: true })
  } catch (error) {
    throw new ProblemError('FILE_NOT_WRITABLE', `${file}: ${(error as NodeJS.ErrnoException).code}`)
  }
}

/** A sidecar follows its scan to `rejected/`; one of the same name there already is kept. */
async function setAside(sidecar: string, rejected: string): Promise<void> {
  for (let n = 1; n < 1000; n++) {
    const name = n === 1 ? basename(sidecar) : basename(sidecar).replace(/(\.[^.]*\.[^.]*)$/, `-${n}$1`)
    try {
      await moveFile(sidecar, join(rejected, name))
      return
    } catch (error) {
      const { code } = error as NodeJS.ErrnoException
      if (code === 'ENOENT') return
      if (code !== 'EEXIST') throw error
    }
  }
}

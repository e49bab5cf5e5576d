import { randomBytes } from 'node:crypto'
import { existsSync, readFileSync } from 'node:fs'
import { mkdir, readdir, readFile, rm, stat } from 'node:fs/promises'
import { hostname, tmpdir } from 'node:os'
import { basename, join, relative, resolve, sep } from 'node:path'
import { setImmediate } from 'node:timers/promises'
import { fileURLToPath } from 'node:url'
import type { ServeContext } from './board/serve-board.js'
import { openedWhenAsked } from './history/opened-when-asked.js'
import type { InspectionOutcome, ScanArrival } from './model/arrival.js'
import type { Calibration } from './model/calibration.js'
import type { Inspection } from './model/inspection.js'
import type { MeasuredScan, MeasureRequest } from './model/measured.js'
import { type Problem, ProblemError } from './model/problem.js'
import type { Channel, ScanHeader } from './model/scan.js'
import type { Sidecar, SiteSettings } from './model/site.js'
import type { BoardRow, Store } from './model/store.js'
import type { HealthFinding } from './model/workspace-health.js'
import type { AcceptOutcome, AcceptTask } from './pipeline/accept-inspection.js'
import type { calibrateFromFiles } from './pipeline/calibrate-from-files.js'
import type { CheckAnswer } from './pipeline/check-worker.js'
import type { LadderOutcome } from './pipeline/conclude-ladder.js'
import type { SetOutcome } from './pipeline/film-set.js'
import type { HowToInspect } from './pipeline/inspect-into-workspace.js'
import type { InspectedScan, InspectionStep, JobTypeShelf } from './pipeline/inspect-scan.js'
import type { LadderArrival } from './pipeline/ladder-in-inbox.js'
import { loadJobTypes } from './pipeline/load-job-types.js'
import type { LookRequest, ScanLook } from './pipeline/look-for-strip.js'
import type { WearOutcome, WearTask } from './pipeline/measure-wear.js'
import type { WorkerAnswer } from './pipeline/measure-worker.js'
import { PACKAGE } from './pipeline/package-folder.js'
import type { PlannedLadder } from './pipeline/plan-ladder.js'
import type { LadderReadContext, LadderReadTask } from './pipeline/read-ladder.js'
import type { EventOutcome, EventTask } from './pipeline/record-event.js'
import type { UseOutcome, UseTask } from './pipeline/record-use.js'
import { reportName } from './pipeline/report-name.js'
import type { RetireOutcome, RetireTask } from './pipeline/retire-film.js'
import type { StudyContext, StudyOutcome, StudyTask } from './pipeline/run-study.js'
import { type WorkerThreads, workerThreads } from './pipeline/worker-threads.js'
import { type WorkspacePaths, workspacePaths } from './pipeline/workspace-paths.js'
import type { WrittenSheets } from './pipeline/write-ladder-sheets.js'
import type { ProcessOutcome } from './pipeline/write-process.js'
import type { StripOutcome, StripTask } from './pipeline/write-strip.js'
import { writeWhole } from './pipeline/write-whole.js'
import { checkPositiveName } from './settings/file-identity.js'
import { parseSidecar } from './settings/sidecar-settings.js'
import { parseSiteSettings } from './settings/site-settings.js'
import type { WatchEvent as EventOf } from './watch/watch-inbox.js'

export type { InspectionOutcome, ScanArrival } from './model/arrival.js'
export type { InspectionStep } from './pipeline/inspect-scan.js'
export { formatLimit, formatReading } from './report/format-reading.js'
export { formatDay, formatTime } from './report/format-time.js'
export { checkPositiveName } from './settings/file-identity.js'
export { nearestName } from './settings/nearest-name.js'

/** What a watcher tells as it goes. */
export type WatchEvent = EventOf<LadderArrival>

// This file and cli.ts are the only ones that choose the real clock, disk, store and workers. What only some commands need is loaded
// when they ask for it: code that is not used costs more time than a page of the history.

/** Where words go: what a person reads, and what a program reads. */
export interface Terminal {
  /** A line for programs, on standard output. */
  out(line: string): void
  /** A line for people, on standard error. */
  say(line: string): void
  /** Whether people watch, so that a moving progress line makes sense. */
  readonly isTTY: boolean
}

/** What stands for the world; tests put parts of it in place. */
export interface World {
  readonly terminal: Terminal
  readonly cwd: string
  readonly now: () => Date
  /** A clock that only goes forward, ms. */
  readonly tick: () => number
  /** Told when people want watching to end; until it is asked for, a signal ends the program at once. */
  readonly stopSignal: () => AbortSignal
  /** Whether the stack of our own faults is shown. */
  readonly debug: boolean
  /** The pixel half in place of the worker threads; no thread is started then. */
  readonly measure?: (request: MeasureRequest, temporary: string) => Promise<MeasuredScan>
  /** Threads begun before the program was put together, which then ends them; absent: it makes its own. */
  readonly workers?: WorkerThreads
}

export interface App extends Pick<World, 'terminal' | 'cwd' | 'now' | 'tick' | 'debug'> {
  readonly software: string
  /** Folder of a workspace: the one named, else the current folder if it is one, else null. @throws ProblemError WORKSPACE_MISSING */
  workspaceFolder(named: string | undefined): string | null
  openWorkspace(folder: string, options?: WorkspaceOptions): Promise<Workspace>
  initWorkspace(folder: string, settings?: Partial<SiteSettings>): Promise<WorkspacePaths>
  /** Looks at a workspace and writes reports/check.html; `page` is null when that could not be written. */
  checkWorkspace(folder: string): Promise<{ readonly findings: readonly HealthFinding[]; readonly page: string | null }>
  /** Inspects with the shipped job types and no calibration; keeps nothing. */
  inspectLoose(arrival: ScanArrival, options?: WorkspaceOptions): Promise<InspectedScan>
  shippedJobTypes(): Promise<JobTypeShelf>
  /** Writes report and record of a loose inspection into a folder. Returns the report's path. */
  writeLooseReport(inspected: InspectedScan, folder: string): Promise<string>
  /** A scan as the command line names it, with its sidecar. @throws ProblemError FILE_*, SIDECAR_INVALID */
  arrivalOf(file: string, told: ScanArrival['told'], inbox: string | null): Promise<ScanArrival>
  /**
   * A gauge study. In a workspace its job types and calibrations count and the page goes to its reports, unless `out`
   * names another folder; elsewhere the shipped job types, no calibration, and a page only where `out` says.
   * @throws ProblemError see `runStudy`; WORKSPACE_MISSING
   */
  study(task: StudyTask, where: StudyWhere): Promise<StudyOutcome>
  /**
   * Checks the plan of an ink ladder and arranges its prints. In a workspace its job types count, elsewhere the shipped ones.
   * @throws ProblemError see `planLadder`; WORKSPACE_MISSING
   */
  planLadder(file: string, folder: string | null): Promise<PlannedLadder>
  /**
   * Writes a control strip to `out`, else to `<positive>__strip.png` in the current folder. In a workspace its job types count.
   * @throws ProblemError see `writeStrip`; WORKSPACE_MISSING
   */
  writeStrip(task: StripTask, where: { readonly folder: string | null; readonly out?: string }): Promise<StripOutcome>
  /**
   * Draws the sheets of a ladder into a folder, or with `each` every combination's strip alone.
   * @throws ProblemError see `planLadder` and `writeLadderSheets`; WORKSPACE_MISSING
   */
  writeLadderSheets(
    file: string,
    where: { readonly folder: string | null; readonly out: string; readonly each: boolean },
  ): Promise<WrittenSheets>
  /**
   * Reads the scans of an ink ladder. In a workspace its job types and calibrations count, page and record go to its reports and the
   * proved settings to its settings/; elsewhere the shipped job types, no calibration, and page and record to `out`.
   * @throws ProblemError see `readLadder`; WORKSPACE_MISSING
   */
  readLadder(task: LadderReadTask, where: LadderWhere): Promise<LadderOutcome>
  /**
   * Ink lost in rub tests, from two scans each. In a workspace its calibrations count.
   * @throws ProblemError WEAR_PAIRS_INCOMPLETE, WORKSPACE_MISSING
   */
  measureWear(task: WearTask, where: { readonly folder: string | null; readonly out?: string }): Promise<WearOutcome>
  /** Lets worker threads go. */
  close(): Promise<void>
}

export interface StudyWhere extends Pick<StudyContext, 'onPlan' | 'onScan'> {
  /** The workspace; null for none. */
  readonly folder: string | null
  readonly out?: string
}

export interface LadderWhere extends Pick<LadderReadContext, 'onScan'> {
  /** The workspace; null for none. */
  readonly folder: string | null
  readonly out?: string
}

export interface WorkspaceOptions {
  /** Scans will be inspected at once: a worker thread loads its code while the rest of the workspace is opened, and the store is opened while that thread looks. */
  readonly inspects?: true
  readonly onStep?: (step: InspectionStep, arrival: ScanArrival) => void
}

export interface ServeWhere extends Pick<ServeContext, 'host' | 'port' | 'onListening' | 'onFault'> {
  readonly refreshSeconds: number
}

export interface WatchWorkspaceOptions {
  readonly once: boolean
  readonly tell: (event: WatchEvent) => void
  /** Ends the watching besides the signals. */
  readonly stop?: AbortSignal
  /** See `WatchContext`. */
  readonly patienceSeconds?: number
}

export interface Workspace {
  readonly paths: WorkspacePaths
  readonly site: SiteSettings
  readonly store: Store
  jobTypes(): Promise<JobTypeShelf>
  inspect(arrival: ScanArrival, how: HowToInspect): Promise<InspectionOutcome>
  calibrate(task: {
    readonly scan: string
    readonly scanner: string
    readonly tablet: string
    readonly edge: string | null
    readonly grid?: { readonly scan: string; readonly pitchMm: number; readonly pitchExpandedMm?: number } | null
    readonly flats?: readonly string[]
  }): ReturnType<typeof calibrateFromFiles>
  watch(options: WatchWorkspaceOptions): Promise<void>
  /** @param before positives that reach a limit before it stand in the drawers; null: 90 days ahead */
  writeBoard(before?: Date | null): Promise<readonly BoardRow[]>
  exportTo(file: string, form: 'csv' | 'json', before?: Date | null): Promise<number>
  /** Writes reports/process.html. */
  writeProcess(): Promise<ProcessOutcome>
  /** Writes down what was changed on a printer. @throws ProblemError EVENT_INVALID */
  recordEvent(task: EventTask): Promise<EventOutcome>
  /** Puts a person's word beside the instrument's. @throws ProblemError see `acceptInspection` */
  accept(task: AcceptTask): Promise<AcceptOutcome>
  /** Notes that a stored film was taken out of its drawer. @throws ProblemError see `retireFilm` */
  retire(task: RetireTask): Promise<RetireOutcome>
  /** Counts that a film was used to burn screens. @throws ProblemError see `recordUse` */
  recordUse(task: UseTask): Promise<UseOutcome>
  /** Writes the page of one positive and says its forecast. @throws ProblemError FILE_NOT_WRITABLE */
  writeHistory(inspections: readonly Inspection[]): Promise<{ readonly page: string; readonly says: string }>
  /** The films of one job against each other. @throws ProblemError INSPECTION_UNKNOWN */
  filmSet(names: readonly string[]): Promise<SetOutcome>
  /** Serves the board until people want it to end. @throws ProblemError SERVE_ADDRESS_UNUSABLE */
  serve(where: ServeWhere): Promise<void>
  /** Path of a record's report. */
  reportOf(row: { readonly positive: string; readonly id: string }): string
  close(): Promise<void>
}

/** The scans of the demo's shop; loaded only when they are made. */
export const demoShop = async () => ({
  ...(await import('./demo/shop.js')),
  ...(await import('./demo/shop-ladder.js')),
  ...(await import('./demo/shop-weeks.js')),
})

/** The program's own job types. */
const SHIPPED = fileURLToPath(new URL('pipelines/', PACKAGE))

/** `x.y.z` of package.json. */
export const version: string = JSON.parse(readFileSync(new URL('package.json', PACKAGE), 'utf8')).version

/** The real world of this process. */
export function realWorld(): World {
  let stop: AbortController | null = null
  const stopSignal = (): AbortSignal => {
    if (stop !== null) return stop.signal
    const made = new AbortController()
    stop = made
    for (const signal of ['SIGINT', 'SIGTERM'] as const)
      process.on(signal, () => {
        // The second time people mean it; what is half done is finished by the next start.
        if (made.signal.aborted) process.exit(130)
        made.abort()
      })
    return made.signal
  }
  return {
    terminal: {
      out: line => void process.stdout.write(`${line}\n`),
      say: line => void process.stderr.write(`${line}\n`),
      isTTY: process.stderr.isTTY === true,
    },
    cwd: process.cwd(),
    now: () => new Date(),
    tick: () => performance.now(),
    stopSignal,
    debug: process.env.BURNGATE_DEBUG === '1',
  }
}

/** The program, put together. */
export function createApp(world: World): App {
  const { now, tick, terminal, cwd, debug } = world
  const software = `burngate ${version}`
  const self = {
    pid: process.pid,
    host: hostname(),
    token: `${process.pid}-${randomBytes(6).toString('hex')}`,
    since: now().toISOString(),
  }
  const workers = world.workers ?? workerThreads()
  const closers: (() => Promise<void>)[] = []

  const measureIn = (temporary: string, count: number) => async (request: MeasureRequest) => {
    await mkdir(temporary, { recursive: true })
    if (world.measure !== undefined) return world.measure(request, temporary)
    const asked = workers.run<WorkerAnswer>('measure-worker', { request, tempDir: temporary }, count)
    // The page's code is loaded while the other thread works, but not before that has its task.
    const [answer] = await Promise.all([asked, setImmediate().then(readyToDraw)])
    if (!answer.ok) throw reraised(answer.problem)
    return answer.measured
  }
  const lookIn =
    (temporary: string, count: number, meanwhile?: () => void) =>
    async (request: LookRequest): Promise<ScanLook> => {
      // Whoever measures in our place (a test) knows what the scan is.
      if (world.measure !== undefined) return { look: { identity: null, found: 0, refused: null }, overview: null }
      await mkdir(temporary, { recursive: true })
      const asked = workers.run<ScanLook>('strip-worker', { request, tempDir: temporary }, count)
      if (meanwhile !== undefined) void setImmediate().then(meanwhile)
      return asked
    }
  const checkIn = (temporary: string, count: number, channel: Channel) => async (file: string) => {
    await mkdir(temporary, { recursive: true })
    const answer = await workers.run<CheckAnswer>('check-worker', { file, channel, tempDir: temporary }, count)
    if (answer.problem !== null) throw reraised(answer.problem)
    return answer.unpacked ?? null
  }
  const readHeaderIn =
    (temporary: string) =>
    async (file: string, channel: Channel): Promise<ScanHeader> => {
      await mkdir(temporary, { recursive: true })
      const { openScan } = await import('./decode/open-scan.js')
      const scan = await openScan(file, { channel, tempDir: temporary, headerOnly: true })
      scan.close()
      return scan.header
    }
  /** A folder of this process alone; what dead processes of this host left beside it is cleared. */
  const ownTemporary = async (parent: string): Promise<string> => {
    for (const name of await readdir(parent).catch(() => [])) {
      const [, host, pid] = /^(.+)~(\d+)~[0-9a-f]+$/.exec(name) ?? []
      if (host === self.host && pid !== undefined && !isAlive(Number(pid)))
        await rm(join(parent, name), { recursive: true, force: true }).catch(() => {})
    }
    const own = join(parent, `${self.host}~${self.pid}~${randomBytes(4).toString('hex')}`)
    closers.push(() => rm(own, { recursive: true, force: true }))
    return own
  }
  const looseTemporary = join(tmpdir(), `burngate-${self.token}`)
  closers.push(() => rm(looseTemporary, { recursive: true, force: true }))

  const arrivalOf: App['arrivalOf'] = async (file, told, inbox) => {
    const path = resolve(cwd, file)
    const state = await stat(path).catch((error: NodeJS.ErrnoException) => {
      if (error.code === 'ENOENT' || error.code === 'ENOTDIR') throw new ProblemError('FILE_MISSING', file)
      throw new ProblemError('FILE_NOT_READABLE', `${file}: ${error.code}`)
    })
    const steps = inbox === null ? [] : relative(inbox, path).split(sep)
    return {
      file: path,
      name: basename(path),
      folder: steps.length > 1 && steps[0] !== '..' ? steps[0]! : null,
      fileTime: state.mtime.toISOString(),
      sidecar: await sidecarBeside(path),
      told,
    }
  }

  /** What scans are inspected with when nothing of them is recorded: a workspace's settings and calibrations, else those shipped. */
  const unrecorded = async (paths: WorkspacePaths | null) => {
    const site = parseSiteSettings(paths === null ? '' : await settingsText(paths), 'burngate.yaml')
    const temporary = paths === null ? looseTemporary : await ownTemporary(paths.temporary)
    return {
      site,
      jobTypes: await loadJobTypes(paths === null ? SHIPPED : paths.jobTypes),
      calibrations: paths === null ? [] : await calibrationsOf(paths),
      readHeader: readHeaderIn(temporary),
      measure: measureIn(temporary, site.workers),
      arrivalOf: (file: string, said: ScanArrival['told']) => arrivalOf(file, said, null),
      now,
      software,
      cwd,
    }
  }

  return {
    terminal,
    cwd,
    now,
    tick,
    debug,
    software,
    workspaceFolder(named) {
      if (named !== undefined) return resolve(cwd, named)
      return existsSync(join(cwd, 'burngate.yaml')) ? cwd : null
    },
    async openWorkspace(folder, options = {}) {
      const paths = workspacePaths(folder)
      const site = parseSiteSettings(await settingsText(paths), 'burngate.yaml')
      if (options.inspects === true && world.measure === undefined) workers.begin(site.workers)
      const open = async () => (await import('./history/sqlite-store.js')).openSqliteStore(paths.database)
      // A scan to be inspected is looked at by another thread first; the store is opened meanwhile.
      const later = options.inspects === true ? openedWhenAsked(open) : null
      const store = later?.store ?? (await open())
      const temporary = await ownTemporary(paths.temporary)
      const load = async () => ({
        jobTypes: await loadJobTypes(paths.jobTypes),
        calibrations: await calibrationsOf(paths),
        actinicTables: await (await import('./pipeline/load-actinic-tables.js')).loadActinicTables(paths.actinic),
        printSettings: await (await import('./pipeline/load-print-settings.js')).loadPrintSettings(paths.printSettings),
      })
      // What a scan is read with, be it of a positive or of a ladder.
      const reading = {
        paths,
        site,
        temporary,
        load,
        loadCalibrations: () => calibrationsOf(paths),
        readHeader: readHeaderIn(temporary),
        lookForStrip: lookIn(temporary, site.workers, later?.begin),
        measure: measureIn(temporary, site.workers),
        now,
        software,
      }
      const openInspecting = async () => {
        const { intoWorkspace } = await import('./pipeline/inspect-into-workspace.js')
        const { onStep } = options
        return intoWorkspace({ ...reading, store, ...(onStep === undefined ? {} : { onStep }) })
      }
      // One for the whole time: it hands the board from scan to scan.
      let inspecting: ReturnType<typeof openInspecting> | null = null
      const inspect: Workspace['inspect'] = async (arrival, how) => {
        if (world.measure === undefined) workers.begin(site.workers)
        inspecting ??= openInspecting()
        return (await inspecting)(arrival, how)
      }
      const ladderReader = async () => {
        const { ladderInInbox } = await import('./pipeline/ladder-in-inbox.js')
        return ladderInInbox(reading)
      }
      const overTime = { store, file: paths.process, signals: paths.signals, site, now, software }
      const board = {
        store,
        file: paths.board,
        site,
        now,
        jobTypes: () => loadJobTypes(paths.jobTypes),
        process: overTime,
      }
      const history = async (positive: string) => ({
        reports: paths.reports,
        site,
        acceptances: await store.acceptancesOf(positive),
        retirements: await store.retirementsOf(positive),
        uses: await store.usesOf(positive),
        jobTypes: () => loadJobTypes(paths.jobTypes),
        now: now(),
        software,
      })
      return {
        paths,
        site,
        store,
        jobTypes: () => loadJobTypes(paths.jobTypes),
        inspect,
        async calibrate(task) {
          await mkdir(temporary, { recursive: true })
          const { calibrateFromFiles } = await import('./pipeline/calibrate-from-files.js')
          return calibrateFromFiles({ ...task, site, scanners: paths.scanners, temporary, now: now(), software })
        },
        async watch({ once, tell, stop, patienceSeconds }) {
          await mkdir(paths.inbox, { recursive: true })
          const [{ takeLock }, { openJournal }, { watchInbox }, { bracketFromFileName }, { removeUnpacked }] =
            await Promise.all([
              import('./watch/workspace-lock.js'),
              import('./watch/journal.js'),
              import('./watch/watch-inbox.js'),
              import('./settings/bracket-name.js'),
              import('./decode/unpacked-picture.js'),
            ])
          const lock = await takeLock(paths.lock, self, { isAlive })
          try {
            const journal = await openJournal(paths.journal)
            try {
              await watchInbox({
                inbox: paths.inbox,
                rejected: paths.rejected,
                site,
                journal,
                inspect: arrival => inspect(arrival, { skipKnown: true, mayLink: true }),
                readLadder: await ladderReader(),
                checkWhole: checkIn(temporary, site.workers, site.channel),
                forget: ({ path }) => removeUnpacked(path),
                readSidecar: parseSidecar,
                bracketName: bracketFromFileName,
                now,
                tick,
                tell,
                beat: () => lock.beat(),
                stop: AbortSignal.any([world.stopSignal(), ...(stop === undefined ? [] : [stop])]),
                once,
                ...(patienceSeconds === undefined ? {} : { patienceSeconds }),
              })
            } finally {
              await journal.close()
            }
          } finally {
            await lock.release()
          }
        },
        async writeBoard(before = null) {
          const { writeBoard } = await import('./pipeline/board-writer.js')
          return writeBoard({ ...board, before })
        },
        async exportTo(file, form, before = null) {
          const { exportHistory } = await import('./pipeline/export-history.js')
          return exportHistory({ ...board, before }, resolve(cwd, file), form)
        },
        async writeProcess() {
          const { writeProcess } = await import('./pipeline/write-process.js')
          return writeProcess(overTime)
        },
        async recordEvent(task) {
          const { recordEvent } = await import('./pipeline/record-event.js')
          return recordEvent(task, { store, now })
        },
        async accept(task) {
          const { acceptInspection } = await import('./pipeline/accept-inspection.js')
          return acceptInspection(task, { store, paths, now })
        },
        async retire(task) {
          const { retireFilm } = await import('./pipeline/retire-film.js')
          return retireFilm(task, { store, now })
        },
        async recordUse(task) {
          const { recordUse } = await import('./pipeline/record-use.js')
          return recordUse(task, { store, now })
        },
        async writeHistory(inspections) {
          const { writeHistory } = await import('./pipeline/write-history.js')
          return writeHistory(inspections, await history(inspections.at(-1)?.positive ?? ''))
        },
        async filmSet(names) {
          const { filmSet } = await import('./pipeline/film-set.js')
          return filmSet(names, { store, jobTypes: () => loadJobTypes(paths.jobTypes) })
        },
        async serve({ refreshSeconds, ...where }) {
          const [{ serveBoard }, { livePages }] = await Promise.all([
            import('./board/serve-board.js'),
            import('./pipeline/live-pages.js'),
          ])
          await serveBoard({
            ...where,
            reports: paths.reports,
            live: livePages({
              board,
              process: overTime,
              store,
              history,
              now,
              refreshSeconds,
            }),
            stop: world.stopSignal(),
          })
        },
        reportOf: row => join(paths.reports, `${reportName(row)}.html`),
        close: () => store.close(),
      }
    },
    async initWorkspace(folder, settings) {
      const { initWorkspace } = await import('./pipeline/init-workspace.js')
      return initWorkspace(resolve(cwd, folder), SHIPPED, settings)
    },
    async checkWorkspace(folder) {
      const paths = workspacePaths(folder)
      await settingsText(paths)
      const at = now()
      const [{ checkWorkspace }, { writeCheckPage }, { watchRemains }, { sqliteChain, sqliteFault }] =
        await Promise.all([
          import('./pipeline/check-workspace.js'),
          import('./pipeline/write-check-page.js'),
          import('./watch/watch-remains.js'),
          import('./history/sqlite-store.js'),
        ])
      const health = await checkWorkspace({
        paths,
        databaseFault: sqliteFault,
        historyChain: sqliteChain,
        watchRemains,
        now: at,
      })
      return writeCheckPage(health, { file: join(paths.reports, 'check.html'), now: at, software })
    },
    async inspectLoose(arrival, options = {}) {
      const site = parseSiteSettings('', 'burngate.yaml')
      if (world.measure === undefined) workers.begin(site.workers)
      const { inspectScan } = await import('./pipeline/inspect-scan.js')
      const inspected = await inspectScan(
        arrival,
        {
          site,
          jobTypes: await loadJobTypes(SHIPPED),
          calibrations: [],
          store: null,
          readHeader: readHeaderIn(looseTemporary),
          lookForStrip: lookIn(looseTemporary, site.workers),
          measure: measureIn(looseTemporary, site.workers),
          now,
          software,
          ...options,
        },
        false,
      )
      if (!('inspection' in inspected)) throw new Error('a loose inspection has no history to know it from')
      return inspected
    },
    shippedJobTypes: () => loadJobTypes(SHIPPED),
    async writeLooseReport(inspected, folder) {
      const report = join(resolve(cwd, folder), `${reportName(inspected.inspection)}.html`)
      const { page, recordText } = await import('./pipeline/keep-inspection.js')
      await writeWhole(report, await page(inspected, [], parseSiteSettings('', 'burngate.yaml')))
      await writeWhole(report.replace(/\.html$/, '.json'), recordText(inspected.inspection))
      return report
    },
    arrivalOf,
    async study(task, { folder, out, ...told }) {
      const paths = folder === null ? null : workspacePaths(folder)
      const site = parseSiteSettings(paths === null ? '' : await settingsText(paths), 'burngate.yaml')
      const temporary = paths === null ? looseTemporary : await ownTemporary(paths.temporary)
      const { runStudy } = await import('./pipeline/run-study.js')
      return runStudy(task, {
        site,
        jobTypes: await loadJobTypes(paths === null ? SHIPPED : paths.jobTypes),
        calibrations: paths === null ? [] : await calibrationsOf(paths),
        readHeader: readHeaderIn(temporary),
        lookForStrip: lookIn(temporary, site.workers),
        measure: measureIn(temporary, site.workers),
        arrivalOf: (file, said) => arrivalOf(file, said, null),
        now,
        software,
        cwd,
        reports: out !== undefined ? resolve(cwd, out) : paths === null ? null : paths.reports,
        ...told,
      })
    },
    async writeLadderSheets(file, { folder, out, each }) {
      const paths = folder === null ? null : workspacePaths(folder)
      const site = parseSiteSettings(paths === null ? '' : await settingsText(paths), 'burngate.yaml')
      const { planLadder } = await import('./pipeline/plan-ladder.js')
      const { writeLadderSheets } = await import('./pipeline/write-ladder-sheets.js')
      const shelf = await loadJobTypes(paths === null ? SHIPPED : paths.jobTypes)
      const planned = await planLadder(resolve(cwd, file), shelf)
      return writeLadderSheets(planned, { out: resolve(cwd, out), each, shop: site.shop, software })
    },
    async planLadder(file, folder) {
      const paths = folder === null ? null : workspacePaths(folder)
      if (paths !== null) await settingsText(paths)
      const { planLadder } = await import('./pipeline/plan-ladder.js')
      return planLadder(resolve(cwd, file), await loadJobTypes(paths === null ? SHIPPED : paths.jobTypes))
    },
    async writeStrip(task, { folder, out }) {
      const paths = folder === null ? null : workspacePaths(folder)
      if (paths !== null) await settingsText(paths)
      const file = resolve(cwd, out ?? `${checkPositiveName(task.positive)}__strip.png`)
      const { writeStrip } = await import('./pipeline/write-strip.js')
      return writeStrip(task, file, await loadJobTypes(paths === null ? SHIPPED : paths.jobTypes))
    },
    async readLadder(task, { folder, out, ...told }) {
      const paths = folder === null ? null : workspacePaths(folder)
      const { readLadder } = await import('./pipeline/read-ladder.js')
      return readLadder(task, {
        ...(await unrecorded(paths)),
        reports: out !== undefined || paths === null ? resolve(cwd, out ?? '.') : paths.reports,
        settings: paths === null ? null : paths.printSettings,
        ...told,
      })
    },
    async measureWear(task, { folder, out }) {
      const paths = folder === null ? null : workspacePaths(folder)
      const { measureWear } = await import('./pipeline/measure-wear.js')
      return measureWear(task, {
        ...(await unrecorded(paths)),
        reports: out !== undefined ? resolve(cwd, out) : paths === null ? null : paths.reports,
      })
    },
    async close() {
      for (const closer of closers.splice(0).reverse()) await closer().catch(() => {})
      await workers.close()
    },
  }
}

async function calibrationsOf(paths: WorkspacePaths): Promise<readonly Calibration[]> {
  const { loadCalibrations } = await import('./calibrate/calibration-file.js')
  return (await loadCalibrations(paths.scanners)).calibrations.map(stored => stored.calibration)
}

async function settingsText(paths: WorkspacePaths): Promise<string> {
  try {
    return await readFile(paths.settings, 'utf8')
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException
    if (code === 'ENOENT' || code === 'ENOTDIR') throw new ProblemError('WORKSPACE_MISSING', paths.root)
    throw new ProblemError('FILE_NOT_READABLE', `${paths.settings}: ${code}`)
  }
}

async function sidecarBeside(scan: string): Promise<{ text: string; facts: Sidecar } | null> {
  for (const file of [`${scan}.yaml`, `${scan}.yml`]) {
    try {
      const text = await readFile(file, 'utf8')
      return { text, facts: parseSidecar(text, basename(file)) }
    } catch (error) {
      if (error instanceof ProblemError) throw error
      const { code } = error as NodeJS.ErrnoException
      if (code !== 'ENOENT') throw new ProblemError('FILE_NOT_READABLE', `${file}: ${code}`)
    }
  }
  return null
}

/** Loads what draws a report. What is wrong with it is heard of when the report is drawn. */
async function readyToDraw(): Promise<void> {
  await import('./report/inspection-page.js').then(page => page.readyToDraw()).catch(() => {})
}

/** A problem that came from another thread as data, as an error again. */
function reraised(problem: Problem): ProblemError {
  const error = new ProblemError(problem.code)
  return Object.assign(error, { problem, message: `${problem.code}: ${problem.what}; ${problem.next}` })
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0)
    return true
  } catch (error) {
    // Another user's process may not be asked, but it is there.
    return (error as NodeJS.ErrnoException).code === 'EPERM'
  }
}

import { readdir, readFile, stat, statfs } from 'node:fs/promises'
import { join } from 'node:path'
import { calibrationFileName, loadCalibrations, loadEarlierCalibrations } from '../calibrate/calibration-file.js'
import type { Calibration } from '../model/calibration.js'
import type { ChainReport } from '../model/history-chain.js'
import { ProblemError } from '../model/problem.js'
import type { SiteSettings } from '../model/site.js'
import type { HealthFinding, ScannerHealth } from '../model/workspace-health.js'
import { parseSiteSettings } from '../settings/site-settings.js'
import { scannerHealth } from '../trend/scanner-health.js'
import { loadJobTypes } from './load-job-types.js'
import { mendCalibrationPages } from './mend-calibration-pages.js'
import type { WorkspacePaths } from './workspace-paths.js'

export interface HealthContext {
  readonly paths: WorkspacePaths
  /** Null when sound, else the first fault. @throws ProblemError when it cannot be opened */
  readonly databaseFault: (file: string) => Promise<string | null>
  /** Follows the chain of hashes through the history. @throws ProblemError as `databaseFault` */
  readonly historyChain: (file: string) => Promise<ChainReport>
  /** What a watcher that was killed has left behind. */
  readonly watchRemains: (
    files: Pick<WorkspacePaths, 'lock' | 'journal'>,
    now: Date,
  ) => Promise<readonly HealthFinding[]>
  readonly now: Date
}

/** All that was found. */
export interface WorkspaceHealth {
  readonly site: SiteSettings
  readonly findings: readonly HealthFinding[]
  /** One a scanner and setting that has a calibration in use. */
  readonly scanners: readonly ScannerHealth[]
}

const DAY_MS = 86_400_000
/** A scan lies in the inbox for a few minutes at most; after that nobody is taking it. */
const STUCK_AFTER_MS = 15 * 60_000
/** An A4 at 1200 dpi has 0.28 GB, in colour 0.83 GB: room for a few more scans, room for a day of them. */
const ROOM_BAD = 2e9
const ROOM_WARN = 10e9

/**
 * Looks at everything a workspace needs: settings, job types, calibrations and how the scanners have aged over them,
 * database, files that got stuck, room on the disk. Reads only.
 */
export async function checkWorkspace(context: HealthContext): Promise<WorkspaceHealth> {
  const { paths } = context
  const { site, finding } = await checkSettings(paths.settings)
  const calibrations = await checkCalibrations(paths.scanners, site, context.now)
  return {
    site,
    findings: [
      finding,
      ...(await checkJobTypes(paths.jobTypes, site)),
      ...calibrations.findings,
      ...(await checkDatabase(context)),
      await checkInbox(paths.inbox, context.now),
      ...(await context.watchRemains(paths, context.now)),
      await checkRejected(paths.rejected),
      await checkDisk(paths.root),
    ],
    scanners: calibrations.scanners,
  }
}

async function checkSettings(file: string): Promise<{ site: SiteSettings; finding: HealthFinding }> {
  const defaults = parseSiteSettings('', 'burngate.yaml')
  try {
    const site = parseSiteSettings(await readFile(file, 'utf8'), 'burngate.yaml')
    return {
      site,
      finding: { about: 'settings', state: 'ok', says: 'The site settings, burngate.yaml, are right.', next: '' },
    }
  } catch (error) {
    return { site: defaults, finding: badOf('settings', error) }
  }
}

async function checkJobTypes(folder: string, site: SiteSettings): Promise<HealthFinding[]> {
  try {
    const { types, unusable } = await loadJobTypes(folder)
    const found = [...unusable.values()].map(error => badOf('jobTypes', error))
    if (!types.has(site.defaultJobType))
      found.push({
        about: 'jobTypes',
        state: 'bad',
        says: `The default job type ${site.defaultJobType} is not usable or not there.`,
        next: 'set defaultJobType in burngate.yaml to one of the files in job-types/',
      })
    if (found.length === 0)
      found.push({ about: 'jobTypes', state: 'ok', says: `Job types: ${[...types.keys()].join(', ')}.`, next: '' })
    return found
  } catch (error) {
    return [badOf('jobTypes', error)]
  }
}

async function checkCalibrations(
  folder: string,
  site: SiteSettings,
  now: Date,
): Promise<Pick<WorkspaceHealth, 'findings' | 'scanners'>> {
  try {
    const { calibrations, unusable } = await loadCalibrations(folder)
    const found = [
      ...unusable.map(({ error }) => badOf('calibration', error)),
      ...(await mendCalibrationPages(calibrations)),
    ]
    for (const { calibration } of calibrations) {
      const days = (now.getTime() - Date.parse(calibration.calibratedAt)) / DAY_MS
      const dpi = Math.round(calibration.scan.dpi.across)
      const who = `The calibration of ${calibration.scanner} at ${dpi} dpi`
      const again = 'calibrate the scanner again (`burngate calibrate`)'
      if (!(days <= site.calibrationMaxAgeDays))
        found.push({
          about: 'calibration',
          state: 'warn',
          says: `${who} is ${Math.floor(days)} days old; films are a recheck after ${site.calibrationMaxAgeDays}.`,
          next: again,
        })
      else if (days > 0.8 * site.calibrationMaxAgeDays)
        found.push({
          about: 'calibration',
          state: 'warn',
          says: `${who} runs out in ${Math.ceil(site.calibrationMaxAgeDays - days)} days.`,
          next: again,
        })
      else
        found.push({
          about: 'calibration',
          state: 'ok',
          says: `${who} is ${Math.max(0, Math.floor(days))} days old and tells density down to ${calibration.deepest.toFixed(2)}.`,
          next: '',
        })
    }
    if (found.length === 0)
      found.push({
        about: 'calibration',
        state: 'warn',
        says: 'No scanner is calibrated, so every film is a recheck.',
        next: 'scan a step tablet and run `burngate calibrate SCAN --scanner NAME --tablet nominal-21`',
      })
    const earlier = await loadEarlierCalibrations(folder)
    const scanners = calibrations.map(({ calibration }) => scannerHealth(seriesOf(calibration, earlier.calibrations)))
    return { findings: [...found, ...movesOf(scanners), ...leftOut(earlier.unusable)], scanners }
  } catch (error) {
    return { findings: [badOf('calibration', error)], scanners: [] }
  }
}

/** A calibration in use and those it replaced: the same scanner at the same setting. */
function seriesOf(
  calibration: Calibration,
  earlier: readonly { readonly calibration: Calibration }[],
): readonly Calibration[] {
  const name = calibrationFileName(calibration)
  return [...earlier.map(stored => stored.calibration).filter(c => calibrationFileName(c) === name), calibration]
}

function movesOf(scanners: readonly ScannerHealth[]): readonly HealthFinding[] {
  return scanners.flatMap(({ scanner, setting, series }) =>
    series
      .filter(({ moves }) => moves.length > 0)
      .map(
        ({ moves }): HealthFinding => ({
          about: 'calibration',
          state: 'warn',
          says: `Scanner ${scanner} at ${setting}: ${moves.map(move => move.why).join(' ')}`,
          next: `${moves[0]!.next}. After a repair or a new lamp move the older files of this scanner out of scanners/earlier/ to begin anew`,
        }),
      ),
  )
}

function leftOut(unusable: readonly { readonly error: ProblemError }[]): readonly HealthFinding[] {
  if (unusable.length === 0) return []
  return [
    {
      about: 'calibration',
      state: 'warn',
      says: `${unusable.length === 1 ? '1 earlier calibration cannot be read and is' : `${unusable.length} earlier calibrations cannot be read and are`} left out of the series: ${unusable[0]!.error.problem.what}.`,
      next: 'move them out of scanners/earlier/',
    },
  ]
}

async function checkDatabase({ paths, databaseFault, historyChain }: HealthContext): Promise<HealthFinding[]> {
  try {
    const fault = await databaseFault(paths.database)
    if (fault !== null)
      return [
        {
          about: 'database',
          state: 'bad',
          says: `The history database is damaged: ${fault}.`,
          next: 'stop burngate, keep a copy of burngate.db, and restore the last backup',
        },
      ]
    const sound = { about: 'database', state: 'ok', says: 'The history database is sound.', next: '' } as const
    return [sound, chainFinding(await historyChain(paths.database))]
  } catch (error) {
    return [badOf('database', error)]
  }
}

/** What following the chain found: the head when all is as written, so that it can be noted; else each row that is not. */
function chainFinding({ rows, head, faults, faultCount }: ChainReport): HealthFinding {
  if (faultCount === 0)
    return {
      about: 'database',
      state: 'ok',
      says:
        rows === 0
          ? 'The history is empty; its chain has not begun.'
          : `Nothing in the history was rewritten: ${rows === 1 ? 'its one row is as it was written' : `all ${rows} rows hold together`}. The last one is ${head}; noted elsewhere, it proves that later.`,
      next: '',
    }
  const more = faultCount - faults.length
  return {
    about: 'database',
    state: 'bad',
    says: `The history is not as it was written: ${faults.map(fault => fault.says).join('; ')}${more === 0 ? '' : `; and ${more} more`}.`,
    next: 'stop burngate, keep a copy of burngate.db, compare these rows with the last backup and with the JSON in reports/, and ask who has written to the file; restore the backup if it is whole',
  }
}

async function checkInbox(inbox: string, now: Date): Promise<HealthFinding> {
  const names = await readdir(inbox, { recursive: true, withFileTypes: true }).catch(() => null)
  if (names === null)
    return {
      about: 'inbox',
      state: 'bad',
      says: 'There is no inbox folder.',
      next: 'make the folder inbox in the workspace',
    }
  const stuck: string[] = []
  for (const entry of names) {
    if (!entry.isFile() || entry.name.startsWith('.')) continue
    const state = await stat(join(entry.parentPath, entry.name)).catch(() => null)
    // The later of the two: a copied scan keeps its old time of change.
    if (state !== null && now.getTime() - Math.max(state.mtimeMs, state.ctimeMs) > STUCK_AFTER_MS)
      stuck.push(entry.name)
  }
  if (stuck.length === 0) return { about: 'inbox', state: 'ok', says: 'Nothing is stuck in the inbox.', next: '' }
  return {
    about: 'inbox',
    state: 'warn',
    says: `${stuck.length} files have lain in the inbox for over 15 minutes: ${stuck.slice(0, 5).join(', ')}${stuck.length > 5 ? ', …' : ''}.`,
    next: 'start `burngate watch`, or run `burngate watch --once` and read what it says of them',
  }
}

async function checkRejected(folder: string): Promise<HealthFinding> {
  const names = await readdir(folder).catch(() => [])
  const reasons = names.filter(name => name.endsWith('.txt'))
  if (reasons.length === 0) return { about: 'rejected', state: 'ok', says: 'Nothing was rejected.', next: '' }
  return {
    about: 'rejected',
    state: 'warn',
    says: `${reasons.length === 1 ? '1 file was' : `${reasons.length} files were`} rejected: ${reasons.slice(0, 5).join(', ')}${reasons.length > 5 ? ', …' : ''}.`,
    next: 'read the .txt beside each in rejected/, then delete both',
  }
}

async function checkDisk(root: string): Promise<HealthFinding> {
  const { bavail, bsize } = await statfs(root)
  const free = bavail * bsize
  const says = `${(free / 1e9).toFixed(1)} GB are free for scans and reports.`
  if (free > ROOM_WARN) return { about: 'disk', state: 'ok', says, next: '' }
  return {
    about: 'disk',
    state: free > ROOM_BAD ? 'warn' : 'bad',
    says,
    next: 'make room: move old scans from archive/ to another disk',
  }
}

function badOf(about: HealthFinding['about'], error: unknown): HealthFinding {
  if (error instanceof ProblemError) {
    const { what, next } = error.problem
    return { about, state: 'bad', says: `${what.slice(0, 1).toUpperCase()}${what.slice(1)}.`, next }
  }
  const { code, syscall } = error as NodeJS.ErrnoException
  if (code === undefined || syscall === undefined) throw error
  return {
    about,
    state: 'bad',
    says: `It could not be read (${code}).`,
    next: 'check permissions and the network share',
  }
}

import { readdir, readFile, stat, statfs } from 'node:fs/promises'
import { join } from 'node:path'
import { loadCalibrations } from '../calibrate/calibration-file.js'
import { ProblemError } from '../model/problem.js'
import type { SiteSettings } from '../model/site.js'
import { parseSiteSettings } from '../settings/site-settings.js'
import { loadJobTypes } from './load-job-types.js'
import type { WorkspacePaths } from './workspace-paths.js'

/** One thing looked at. `bad`: scans cannot be inspected, or records may be lost; `warn`: see to it soon. */
export interface HealthFinding {
  readonly about: 'settings' | 'jobTypes' | 'calibration' | 'database' | 'inbox' | 'rejected' | 'disk'
  readonly state: 'ok' | 'warn' | 'bad'
  readonly says: string
  /** What to do; empty when nothing need be done. */
  readonly next: string
}

export interface HealthContext {
  readonly paths: WorkspacePaths
  /** Null when sound, else the first fault. @throws ProblemError when it cannot be opened */
  readonly databaseFault: (file: string) => Promise<string | null>
  readonly now: Date
}

const DAY_MS = 86_400_000
/** A scan lies in the inbox for a few minutes at most; after that nobody is taking it. */
const STUCK_AFTER_MS = 15 * 60_000
/** An A4 at 1200 dpi has 0.28 GB, in colour 0.83 GB: room for a few more scans, room for a day of them. */
const ROOM_BAD = 2e9
const ROOM_WARN = 10e9

/** Looks at everything a workspace needs: settings, job types, calibrations, database, files that got stuck, room on the disk. */
export async function checkWorkspace(context: HealthContext): Promise<readonly HealthFinding[]> {
  const { paths } = context
  const { site, finding } = await checkSettings(paths.settings)
  return [
    finding,
    ...(await checkJobTypes(paths.jobTypes, site)),
    ...(await checkCalibrations(paths.scanners, site, context.now)),
    await checkDatabase(context),
    await checkInbox(paths.inbox, context.now),
    await checkRejected(paths.rejected),
    await checkDisk(paths.root),
  ]
}

async function checkSettings(file: string): Promise<{ site: SiteSettings; finding: HealthFinding }> {
  const defaults = parseSiteSettings('', 'burngate.yaml')
  try {
    const site = parseSiteSettings(await readFile(file, 'utf8'), 'burngate.yaml')
    return { site, finding: { about: 'settings', state: 'ok', says: 'burngate.yaml is right.', next: '' } }
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

async function checkCalibrations(folder: string, site: SiteSettings, now: Date): Promise<HealthFinding[]> {
  try {
    const { calibrations, unusable } = await loadCalibrations(folder)
    const found = unusable.map(({ error }) => badOf('calibration', error))
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
    return found
  } catch (error) {
    return [badOf('calibration', error)]
  }
}

async function checkDatabase({ paths, databaseFault }: HealthContext): Promise<HealthFinding> {
  try {
    const fault = await databaseFault(paths.database)
    if (fault === null) return { about: 'database', state: 'ok', says: 'The history database is sound.', next: '' }
    return {
      about: 'database',
      state: 'bad',
      says: `The history database is damaged: ${fault}.`,
      next: 'stop burngate, keep a copy of burngate.db, and restore the last backup',
    }
  } catch (error) {
    return badOf('database', error)
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
    says: `${reasons.length} files were rejected: ${reasons.slice(0, 5).join(', ')}${reasons.length > 5 ? ', …' : ''}.`,
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

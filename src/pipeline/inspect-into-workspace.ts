import { rm } from 'node:fs/promises'
import { loadEarlierCalibrations } from '../calibrate/calibration-file.js'
import type { InspectionOutcome, ScanArrival } from '../model/arrival.js'
import { ProblemError } from '../model/problem.js'
import type { Store } from '../model/store.js'
import { archivedScan, stageScan } from './archive-scan.js'
import { artworkInInbox } from './artwork-in-inbox.js'
import { type BoardWriter, boardWriter } from './board-writer.js'
import { bracketArrival } from './bracket-arrival.js'
import { type HashedFile, hashFile } from './hash-file.js'
import { identifyPositive } from './identify-scan.js'
import { forgetLook, type InspectContext, inspectScan, lookedAt } from './inspect-scan.js'
import { keepInspection } from './keep-inspection.js'
import type { WorkspacePaths } from './workspace-paths.js'

/** What changes while a watcher runs for weeks is asked anew for each scan. */
export type WorkspaceContext = Omit<
  InspectContext,
  'jobTypes' | 'calibrations' | 'actinicTables' | 'printSettings' | 'store'
> & {
  readonly paths: WorkspacePaths
  readonly store: Store
  /** A folder of this process alone, on the workspace's disk. */
  readonly temporary: string
  readonly load: () => Promise<Pick<InspectContext, 'jobTypes' | 'calibrations' | 'actinicTables' | 'printSettings'>>
  /** The calibrations alone: all that a look at a scan needs. */
  readonly loadCalibrations: () => Promise<InspectContext['calibrations']>
}

export interface HowToInspect {
  /** Take the answer of the history when the same was asked before, instead of measuring again. */
  readonly skipKnown: boolean
  /** The file leaves its place afterwards, so the archive may share its bytes. */
  readonly mayLink: boolean
}

/**
 * Inspects scans into a workspace: archive, report, record, board. Scans of one positive asked at once are inspected one after the
 * other, in the order asked, so that the second finds the record of the first and is compared with it; so are files of the same content.
 */
export function intoWorkspace(
  context: WorkspaceContext,
): (arrival: ScanArrival, how: HowToInspect) => Promise<InspectionOutcome> {
  const board: BoardWriter = boardWriter({
    store: context.store,
    file: context.paths.board,
    site: context.site,
    now: context.now,
    jobTypes: async () => (await context.load()).jobTypes,
    process: {
      store: context.store,
      file: context.paths.process,
      signals: context.paths.signals,
      site: context.site,
      now: context.now,
      software: context.software,
    },
  })
  const busy = new Map<string, Promise<unknown>>()
  return async (given, how) => {
    // Who it is must be known before it takes its turn behind the other scans of its positive.
    const asked = bracketArrival(given)
    const calibrations = await context.loadCalibrations()
    const jobTypes = async () => (await context.load()).jobTypes
    const looking = lookedAt(asked, { ...context, calibrations, jobTypes })
    // Hashed while another thread looks; what is wrong with the file is heard of below.
    const hashing = hashFile(asked.file)
    hashing.catch(() => {})
    const arrival = await looking
    try {
      const outcome = await inTurn(busy, positiveKey(arrival, context), async () => {
        const hashed = await hashing
        return inTurn(busy, hashed.sha256, () => inspectOne(arrival, hashed, how, context))
      })
      await board.write()
      return outcome
    } finally {
      forgetLook(arrival)
    }
  }
}

/** Runs a task after all that were asked before under the same key. */
async function inTurn<T>(busy: Map<string, Promise<unknown>>, key: string, task: () => Promise<T>): Promise<T> {
  const before = busy.get(key) ?? Promise.resolve()
  const turn = before.catch(() => {}).then(task)
  busy.set(key, turn)
  try {
    return await turn
  } finally {
    if (busy.get(key) === turn) busy.delete(key)
  }
}

/** One key for all scans of a positive. A name that is refused is refused again, with its words, when the scan is inspected. */
function positiveKey(arrival: ScanArrival, { site }: WorkspaceContext): string {
  try {
    return `positive ${identifyPositive(arrival, site).positive}`
  } catch (error) {
    if (error instanceof ProblemError) return `file ${arrival.file}`
    throw error
  }
}

async function inspectOne(
  arrival: ScanArrival,
  hashed: HashedFile,
  { skipKnown, mayLink }: HowToInspect,
  context: WorkspaceContext,
): Promise<InspectionOutcome> {
  const { paths, store, site, now, temporary, onStep } = context
  const step = onStep === undefined ? {} : { onStep }
  const artworkOf = (positive: string) => artworkInInbox(paths.artwork, positive)
  const archived = (sha256: string) => archivedScan(paths.archive, sha256)
  const earlierCalibrations = async () =>
    (await loadEarlierCalibrations(paths.scanners)).calibrations.map(stored => stored.calibration)
  const asked = { ...context, artworkOf, archived, earlierCalibrations, ...(await context.load()) }
  // A file its owner keeps is copied while another thread measures.
  const { file } = arrival
  const copy = mayLink ? Promise.resolve(null) : stageScan({ file, ...hashed, archive: paths.archive, temporary })
  copy.catch(() => {})
  const staged = { sha256: hashed.sha256, copy }
  const keep = { paths, store, site, now, temporary, mayLink, staged, ...step }
  try {
    const outcome = await keepInspection(await inspectScan(arrival, asked, skipKnown, hashed), keep)
    // A report that was thrown away is made again.
    return outcome.report === null
      ? await keepInspection(await inspectScan(arrival, asked, false, hashed), keep)
      : outcome
  } finally {
    const left = await copy.catch(() => null)
    if (left !== null) await rm(left, { force: true })
  }
}

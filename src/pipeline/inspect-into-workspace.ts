import type { InspectionOutcome, ScanArrival } from '../model/arrival.js'
import type { Store } from '../model/store.js'
import { artworkInInbox } from './artwork-in-inbox.js'
import { type BoardWriter, boardWriter } from './board-writer.js'
import { type HashedFile, hashFile } from './hash-file.js'
import { type InspectContext, inspectScan } from './inspect-scan.js'
import { keepInspection } from './keep-inspection.js'
import type { WorkspacePaths } from './workspace-paths.js'

/** What changes while a watcher runs for weeks is asked anew for each scan. */
export type WorkspaceContext = Omit<InspectContext, 'jobTypes' | 'calibrations' | 'actinicTables' | 'store'> & {
  readonly paths: WorkspacePaths
  readonly store: Store
  /** A folder of this process alone, on the workspace's disk. */
  readonly temporary: string
  readonly load: () => Promise<Pick<InspectContext, 'jobTypes' | 'calibrations' | 'actinicTables'>>
}

export interface HowToInspect {
  /** Take the answer of the history when the same was asked before, instead of measuring again. */
  readonly skipKnown: boolean
  /** The file leaves its place afterwards, so the archive may share its bytes. */
  readonly mayLink: boolean
}

/**
 * Inspects scans into a workspace: archive, report, record, board. Two files of the same content asked at once are
 * inspected one after the other, so that the second finds the record of the first.
 */
export function intoWorkspace(
  context: WorkspaceContext,
): (arrival: ScanArrival, how: HowToInspect) => Promise<InspectionOutcome> {
  const board: BoardWriter = boardWriter({
    store: context.store,
    file: context.paths.board,
    site: context.site,
    now: context.now,
  })
  const busy = new Map<string, Promise<unknown>>()
  return async (arrival, how) => {
    const hashed = await hashFile(arrival.file)
    const { sha256 } = hashed
    const before = busy.get(sha256) ?? Promise.resolve()
    const turn = before.catch(() => {}).then(() => inspectOne(arrival, hashed, how, context))
    busy.set(sha256, turn)
    try {
      const outcome = await turn
      await board.write()
      return outcome
    } finally {
      if (busy.get(sha256) === turn) busy.delete(sha256)
    }
  }
}

async function inspectOne(
  arrival: ScanArrival,
  hashed: HashedFile,
  { skipKnown, mayLink }: HowToInspect,
  context: WorkspaceContext,
): Promise<InspectionOutcome> {
  const { paths, store, site, now, temporary, onStep } = context
  // Loaded while a worker thread measures; what is wrong with it is heard of when the report is drawn.
  void import('../report/inspection-page.js').catch(() => {})
  const step = onStep === undefined ? {} : { onStep }
  const artworkOf = (positive: string) => artworkInInbox(paths.artwork, positive)
  const asked = { ...context, artworkOf, ...(await context.load()) }
  const keep = { paths, store, site, now, temporary, mayLink, ...step }
  const outcome = await keepInspection(await inspectScan(arrival, asked, skipKnown, hashed), keep)
  // A report that was thrown away is made again.
  return outcome.report === null ? keepInspection(await inspectScan(arrival, asked, false, hashed), keep) : outcome
}

import { basename } from 'node:path'
import type { ScanArrival } from '../model/arrival.js'
import type { LadderPlan, LadderSample } from '../model/ladder.js'
import type { LadderRequest } from '../model/measured.js'
import type { HashedFile } from './hash-file.js'
import { type InspectContext, inspectScan } from './inspect-scan.js'
import { ladderSamples, type UnreadScan } from './ladder-samples.js'

/** What one scan of a ladder told: plain data, kept beside the history by the watcher. */
export interface LadderScan {
  readonly file: string
  readonly sha256: string
  /** ISO 8601. */
  readonly scannedAt: string
  readonly samples: readonly LadderSample[]
  readonly unread: readonly UnreadScan[]
  readonly notes: readonly string[]
  readonly calibration: {
    readonly scanner: string
    readonly calibratedAt: string
    readonly deepest: number
  } | null
}

/**
 * Reads one scan of a ladder as `inspect` would, every step of it as a film of its own. Nothing goes into the history.
 * @throws ProblemError as `inspectScan`
 */
export async function readLadderScan(
  arrival: ScanArrival,
  plan: LadderPlan,
  context: Omit<InspectContext, 'store' | 'onStep'>,
  hashed: HashedFile,
): Promise<LadderScan> {
  const request: LadderRequest =
    plan.patches === null
      ? { kind: 'whole' }
      : { kind: 'patches', count: plan.patches.count, pitchMm: plan.patches.pitchMm }
  // The plan says what a scan shows; nothing is recorded under this name.
  const told = { ...arrival.told, positive: 'ladder', jobType: plan.jobType }
  const { lookForStrip: _, ...blind } = context
  const scan = await inspectScan(
    { ...arrival, told },
    { ...blind, measure: asked => context.measure({ ...asked, ladder: request }), store: null },
    false,
    hashed,
  )
  if (!('inspection' in scan)) throw new Error('a ladder has no history to know a scan from')
  const { measured, inspection, calibration } = scan
  const { scannedAt } = inspection
  const { samples, unread, notes } = ladderSamples(basename(arrival.name), { measured, scannedAt }, arrival, plan)
  return {
    file: basename(arrival.name),
    sha256: hashed.sha256,
    scannedAt,
    samples,
    unread,
    notes: [...notes, ...new Set((measured.ladder ?? []).flatMap(part => part.notes))],
    calibration:
      calibration === null
        ? null
        : {
            scanner: calibration.scanner,
            calibratedAt: calibration.calibratedAt,
            deepest: calibration.deepest,
          },
  }
}

import { basename, resolve } from 'node:path'
import PQueue from 'p-queue'
import type { ScanArrival } from '../model/arrival.js'
import { ProblemError } from '../model/problem.js'
import { type ConcludeContext, concludeLadder, type LadderOutcome } from './conclude-ladder.js'
import { hashFile } from './hash-file.js'
import type { InspectContext } from './inspect-scan.js'
import { readLadderScan } from './ladder-scan.js'
import { planLadder } from './plan-ladder.js'

export interface LadderReadTask {
  readonly plan: string
  readonly scans: readonly string[]
  /** The scanner, before whatever sidecars and files say; null to let them. */
  readonly scanner: string | null
}

export interface LadderReadContext extends Omit<InspectContext, 'store' | 'onStep'>, Omit<ConcludeContext, 'site'> {
  /** Folder that paths of the task start from. */
  readonly cwd: string
  readonly arrivalOf: (file: string, told: ScanArrival['told']) => Promise<ScanArrival>
  readonly onScan?: (name: string) => void
}

/**
 * Reads the scans of an ink ladder, each as `inspect` would, judges every combination and answers with the setting to print at.
 * A scan that cannot be used is listed with its reason; the rest goes on. Nothing goes into the history.
 * @throws ProblemError see `planLadder`; LADDER_NOTHING_READ with the first reason when no scan is left
 */
export async function readLadder(task: LadderReadTask, context: LadderReadContext): Promise<LadderOutcome> {
  const planned = await planLadder(resolve(context.cwd, task.plan), context.jobTypes)
  const told = task.scanner === null ? {} : { scanner: task.scanner }
  const hashes = new Map<string, string>()
  const queue = new PQueue({ concurrency: context.site.workers })
  const outcomes = await queue.addAll(
    task.scans.map(file => async () => {
      try {
        const path = resolve(context.cwd, file)
        const hashed = await hashFile(path)
        const before = hashes.get(hashed.sha256)
        if (before !== undefined)
          throw new ProblemError('LADDER_SCAN_TWICE', `${basename(file)} and ${before} are the very same scan`)
        hashes.set(hashed.sha256, basename(file))
        context.onScan?.(basename(file))
        return await readLadderScan(await context.arrivalOf(path, told), planned.plan, context, hashed)
      } catch (error) {
        if (!(error instanceof ProblemError)) throw error
        return { file: basename(file), problem: error.problem }
      }
    }),
  )
  return concludeLadder(
    planned,
    outcomes.flatMap(one => ('samples' in one ? [one] : [])),
    outcomes.flatMap(one => ('problem' in one ? [one] : [])),
    context,
  )
}

import { checkWhole } from '../decode/check-whole.js'
import { openScan } from '../decode/open-scan.js'
import type { UnpackedScan } from '../model/arrival.js'
import { type Problem, ProblemError } from '../model/problem.js'
import type { Channel } from '../model/scan.js'
import { unpackedOf } from './seen-overview.js'

/** What the worker thread answers: no problem when the scan is whole, and where a packed one was unpacked to, which whoever asked deletes. */
export type CheckAnswer = { readonly problem: Problem | null; readonly unpacked?: UnpackedScan }

/** The worker thread's door for a scan that has just come: decodes all of it once, so that the watcher goes on meanwhile. */
export default async function work(task: { file: string; channel: Channel; tempDir: string }): Promise<CheckAnswer> {
  try {
    const { file, channel, tempDir } = task
    const of = unpackedOf(file, channel)
    const scan = await openScan(file, { channel, tempDir, keepUnpacked: true })
    const unpacked = of === null || scan.file === undefined || scan.file === file ? null : { path: scan.file, of }
    try {
      // What was unpacked was decoded to its end.
      if (unpacked === null) checkWhole(scan)
    } finally {
      scan.close()
    }
    return { problem: null, ...(unpacked === null ? {} : { unpacked }) }
  } catch (error) {
    if (error instanceof ProblemError) return { problem: error.problem }
    throw error
  }
}

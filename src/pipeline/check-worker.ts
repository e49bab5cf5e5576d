import { checkWhole } from '../decode/check-whole.js'
import { openScan } from '../decode/open-scan.js'
import { type Problem, ProblemError } from '../model/problem.js'
import type { Channel } from '../model/scan.js'

/** What the worker thread answers: null when the scan is whole. */
export type CheckAnswer = { readonly problem: Problem | null }

/** The worker thread's door for a scan that has just come: decodes all of it once, so that the watcher goes on meanwhile. */
export default async function work(task: { file: string; channel: Channel; tempDir: string }): Promise<CheckAnswer> {
  try {
    // Gone over once only, so chunks are unpacked as they come and not into a file.
    const once = { unpackAbove: Number.POSITIVE_INFINITY }
    const scan = await openScan(task.file, { channel: task.channel, tempDir: task.tempDir, ...once })
    try {
      checkWhole(scan)
    } finally {
      scan.close()
    }
    return { problem: null }
  } catch (error) {
    if (error instanceof ProblemError) return { problem: error.problem }
    throw error
  }
}

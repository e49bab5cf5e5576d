import type { StripLook } from '../model/strip.js'
import { type LookRequest, lookForStrip } from './look-for-strip.js'

/** The worker thread's door for a look at who a scan says it is. */
export default async function work(task: { request: LookRequest; tempDir: string }): Promise<StripLook> {
  return lookForStrip(task.request, task.tempDir)
}

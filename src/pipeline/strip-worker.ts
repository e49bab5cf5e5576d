import { type LookRequest, lookForStrip, type ScanLook } from './look-for-strip.js'

/** The worker thread's door for a look at who a scan says it is. */
export default async function work(task: {
  request: LookRequest
  tempDir: string
  secondThread?: string
}): Promise<ScanLook> {
  return lookForStrip(task.request, task.tempDir, task.secondThread)
}

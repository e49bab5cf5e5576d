import type { MeasuredScan, MeasureRequest } from '../model/measured.js'
import { measureScan } from './measure-scan.js'

/** The worker thread's door: one scan measured for each message. Problems cross as they are thrown. */
export default function work(task: { request: MeasureRequest; tempDir: string }): Promise<MeasuredScan> {
  return measureScan(task.request, { tempDir: task.tempDir })
}

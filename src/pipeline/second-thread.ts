import { Worker } from 'node:worker_threads'
import type { MeasuredFlaws, NotLooked } from '../model/flaw.js'
import type { FlawTask } from './look-for-flaws.js'

/** The thread beside this one, while it lives: started once, and asked one thing at a time. */
let second: { readonly worker: Worker; readonly code: string } | null = null

/** The thread beside this one, started when there is none. @param code URL of its code */
function secondThread(code: string): Worker {
  if (second?.code === code) return second.worker
  const worker = new Worker(new URL(code), { resourceLimits: { maxYoungGenerationSizeMb: 12 } })
  // It must not keep the program from ending.
  worker.unref()
  const gone = () => {
    if (second?.worker === worker) second = null
  }
  worker.on('error', gone).on('exit', gone)
  second = { worker, code }
  return worker
}

function end(worker: Worker): void {
  if (second?.worker === worker) second = null
  void worker.terminate()
}

/** A page of more blocks (half an A4) leaves more behind than a new thread costs: its thread ends with the answer, before the report wants room. */
const MOST_BLOCKS_KEPT = 1_200_000

/** Asks the thread beside this one for the flaws of a page. @throws what went wrong there */
export function flawsFromSecondThread(code: string, task: FlawTask): Promise<MeasuredFlaws | NotLooked> {
  const worker = secondThread(code)
  return new Promise((resolve, reject) => {
    const ended = () => reject(new Error('the second thread ended'))
    const done = (answer: () => void) => {
      worker.off('message', got).off('error', failed).off('exit', ended)
      if (task.overview.light.length > MOST_BLOCKS_KEPT) end(worker)
      answer()
    }
    const got = (flaws: MeasuredFlaws | NotLooked) => done(() => resolve(flaws))
    const failed = (error: Error) => done(() => reject(error))
    worker.on('message', got).on('error', failed).on('exit', ended)
    worker.postMessage(task)
  })
}

import { Worker } from 'node:worker_threads'
import type { UnpackShare } from '../decode/unpack-codes.js'
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

/** What the thread beside this one is asked; its code is `beside-worker.ts`. */
export type SecondTask = { readonly flaws: FlawTask } | { readonly unpack: UnpackShare }

/** A page of more blocks (half an A4) leaves more behind than a new thread costs: its thread ends with the answer, before the report wants room. */
const MOST_BLOCKS_KEPT = 1_200_000

/** Asks the thread beside this one for the flaws of a page. @throws what went wrong there */
export function flawsFromSecondThread(code: string, task: FlawTask): Promise<MeasuredFlaws | NotLooked> {
  return asked(code, { flaws: task }, task.overview.light.length <= MOST_BLOCKS_KEPT)
}

/** Has the thread beside this one unpack rows of a scan. @param keep whether that thread stays for what comes next */
export function unpackInSecondThread(code: string, task: UnpackShare, keep: boolean): Promise<void> {
  return asked(code, { unpack: task }, keep)
}

function asked<Answer>(code: string, task: SecondTask, keep: boolean): Promise<Answer> {
  const worker = secondThread(code)
  return new Promise((resolve, reject) => {
    const ended = () => reject(new Error('the second thread ended'))
    const done = (answer: () => void) => {
      worker.off('message', got).off('error', failed).off('exit', ended)
      if (!keep) end(worker)
      answer()
    }
    const got = (answer: Answer) => done(() => resolve(answer))
    const failed = (error: Error) => done(() => reject(error))
    worker.on('message', got).on('error', failed).on('exit', ended)
    worker.postMessage(task)
  })
}

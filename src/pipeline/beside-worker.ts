import { parentPort } from 'node:worker_threads'
import { unpackShare } from '../decode/open-scan.js'
import type { SecondTask } from './second-thread.js'

// A thread beside the one that measures a scan. What goes wrong is thrown: the thread ends, and the other one does it itself.
parentPort!.on('message', async (task: SecondTask) => {
  if ('unpack' in task) return parentPort!.postMessage(await unpackShare(task.unpack))
  // Large, and not needed to unpack.
  const { lookElsewhere } = await import('./look-for-flaws.js')
  parentPort!.postMessage(await lookElsewhere(task.flaws))
})

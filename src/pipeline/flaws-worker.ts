import { parentPort } from 'node:worker_threads'
import { type FlawTask, lookElsewhere } from './look-for-flaws.js'

// A thread beside the one that measures a scan. What goes wrong is thrown: the thread ends, and the other one looks for itself.
parentPort!.on('message', async (task: FlawTask) => parentPort!.postMessage(await lookElsewhere(task)))

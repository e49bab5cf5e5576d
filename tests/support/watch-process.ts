/**
 * A watcher in a process of its own, to be killed by tests: the real watcher, journal, lock, disk and database; only the
 * pixel half is the stand-in. Arguments: workspace, `once` or `watch`. Tells each event as a line of JSON.
 */
import { randomUUID } from 'node:crypto'
import { hostname } from 'node:os'
import { checkWhole } from '../../src/decode/check-whole.js'
import { openScan } from '../../src/decode/open-scan.js'
import { intoWorkspace } from '../../src/pipeline/inspect-into-workspace.js'
import { ladderInInbox } from '../../src/pipeline/ladder-in-inbox.js'
import { bracketFromFileName } from '../../src/settings/bracket-name.js'
import { parseSidecar } from '../../src/settings/sidecar-settings.js'
import { openJournal } from '../../src/watch/journal.js'
import { watchInbox } from '../../src/watch/watch-inbox.js'
import { takeLock } from '../../src/watch/workspace-lock.js'
import { workspaceContext } from './workspace-context.js'

const [root, mode] = process.argv.slice(2) as [string, 'once' | 'watch']
const context = await workspaceContext(root, {
  settings: { settleSeconds: 0.1, sidecarWaitSeconds: 0, bracketWaitSeconds: 0, workers: 2 },
})
const self = { pid: process.pid, host: hostname(), token: randomUUID(), since: new Date().toISOString() }
const lock = await takeLock(context.paths.lock, self, {
  isAlive: pid => {
    try {
      process.kill(pid, 0)
      return true
    } catch {
      return false
    }
  },
})
const journal = await openJournal(context.paths.journal)
const inspect = intoWorkspace(context)
const readLadder = ladderInInbox({
  ...context,
  measure: async request => {
    const measured = await context.measure(request)
    const { readings, notMeasured } = measured
    return { ...measured, ladder: [{ index: 0, readings, notMeasured, notes: [], crop: null }] }
  },
})
const stop = new AbortController()
process.on('SIGTERM', () => stop.abort())
console.log(JSON.stringify({ kind: 'ready' }))
await watchInbox({
  inbox: context.paths.inbox,
  rejected: context.paths.rejected,
  site: context.site,
  journal,
  inspect: arrival => inspect(arrival, { skipKnown: true, mayLink: true }),
  readLadder,
  checkWhole: async file => {
    const scan = await openScan(file, { channel: 'grey', tempDir: context.temporary })
    try {
      checkWhole(scan)
    } finally {
      scan.close()
    }
    return null
  },
  forget: () => {},
  readSidecar: parseSidecar,
  bracketName: bracketFromFileName,
  now: context.now,
  tick: () => performance.now(),
  tell: event => {
    const shown = event.kind === 'fault' ? { ...event, error: String(event.error) } : event
    console.log(JSON.stringify(shown))
  },
  beat: () => lock.beat(),
  stop: stop.signal,
  once: mode === 'once',
})
await lock.release()
await journal.close()
await context.store.close()

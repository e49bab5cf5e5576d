import { readFile, stat } from 'node:fs/promises'
import type { HealthFinding } from '../model/workspace-health.js'
import { unfinishedEntries } from './journal.js'
import { DEAD_AFTER_S } from './workspace-lock.js'

/**
 * What a watcher that was killed has left: its lock, scans taken and never finished, a journal line cut off. None of it keeps the next watcher
 * from working; but as long as none runs, nobody finishes those scans. A watcher that beats is at work, and then nothing is left over.
 * @param files the workspace's lock and journal; either may be missing
 * @returns nothing when nothing was left
 */
export async function watchRemains(
  files: { readonly lock: string; readonly journal: string },
  now: Date,
): Promise<readonly HealthFinding[]> {
  const lock = await stat(files.lock).catch(() => null)
  const quietSeconds = lock === null ? null : (now.getTime() - lock.mtimeMs) / 1000
  if (quietSeconds !== null && quietSeconds <= DEAD_AFTER_S) return []
  const text = await readFile(files.journal, 'utf8').catch(() => '')
  const taken = unfinishedEntries(text).map(entry => entry.file)
  const says = [
    ...(quietSeconds === null
      ? []
      : [`A watcher left its lock and has shown no life for ${Math.floor(quietSeconds / 60)} minutes.`]),
    ...(taken.length === 0
      ? []
      : [
          `${taken.length === 1 ? '1 scan was' : `${taken.length} scans were`} taken from the inbox and never finished: ${taken.slice(0, 5).join(', ')}${taken.length > 5 ? ', …' : ''}.`,
        ]),
    ...(text === '' || text.endsWith('\n') ? [] : ['The last line of the journal is cut off, as by a crash.']),
  ]
  if (says.length === 0) return []
  return [
    {
      about: 'inbox',
      state: 'warn',
      says: says.join(' '),
      next: 'run `burngate watch` (or `burngate watch --once`): it takes the lock over and finishes what was begun',
    },
  ]
}

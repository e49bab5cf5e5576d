import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { watchRemains } from '../../../src/watch/watch-remains.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'

let folder: ScanFolder
beforeEach(() => {
  folder = scanFolder()
})
afterEach(() => folder.remove())

/** The folder's files were last written at 11:00. */
const remains = (at: string) =>
  watchRemains(
    { lock: join(folder.path, 'watch.lock'), journal: join(folder.path, 'journal.jsonl') },
    new Date(`2025-03-04T${at}Z`),
  )
const line = (file: string, state: string) => `${JSON.stringify({ file, state })}\n`

describe('watchRemains', () => {
  it('finds nothing where nothing was left, and nothing wrong with a watcher that beats', async () => {
    expect(await remains('12:00:00')).toEqual([])
    folder.put('watch.lock', '{}')
    folder.put('journal.jsonl', line('a.tif', 'taken'))
    expect(await remains('11:02:00')).toEqual([])
  })

  it('names a lock left behind, scans never finished and a journal line cut off', async () => {
    folder.put('watch.lock', '{}')
    folder.put(
      'journal.jsonl',
      `${line('a.tif', 'taken')}${line('a.tif', 'finished')}${line('b.tif', 'taken')}{"file":"c`,
    )
    expect(await remains('11:02:01')).toEqual([
      {
        about: 'inbox',
        state: 'warn',
        says: 'A watcher left its lock and has shown no life for 2 minutes. 1 scan was taken from the inbox and never finished: b.tif. The last line of the journal is cut off, as by a crash.',
        next: expect.stringContaining('burngate watch --once'),
      },
    ])
  })

  it('names unfinished scans without a lock too', async () => {
    folder.put('journal.jsonl', line('a.tif', 'taken') + line('b.tif', 'recorded'))
    expect((await remains('12:00:00'))[0]!.says).toBe(
      '2 scans were taken from the inbox and never finished: a.tif, b.tif.',
    )
  })
})

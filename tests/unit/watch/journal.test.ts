import { readFileSync, statSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { type JournalEntry, openJournal } from '../../../src/watch/journal.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'

let folder: ScanFolder
beforeEach(() => {
  folder = scanFolder()
})
afterEach(() => folder.remove())

const entry = (file: string, state: JournalEntry['state']): JournalEntry => ({
  file,
  state,
  size: 1,
  mtimeMs: 2,
  sidecar: null,
  at: '2026-03-01T00:00:00.000Z',
})

describe('openJournal', () => {
  it('remembers what was taken and not finished, and how far it got', async () => {
    const file = join(folder.path, 'own', 'journal.jsonl')
    const journal = await openJournal(file)
    expect(journal.unfinished).toEqual([])
    const a = ['a', 'b', 'c'].map(name => journal.write(entry(name, 'taken')))
    await Promise.all([...a, journal.write(entry('b', 'recorded')), journal.write(entry('a', 'finished'))])
    await journal.close()
    const again = await openJournal(file)
    expect(again.unfinished).toEqual([entry('b', 'recorded'), entry('c', 'taken')])
    await again.close()
  })

  it('passes over a line cut off by a crash, and writes on in a new line', async () => {
    const file = folder.put('j', `${JSON.stringify(entry('a', 'taken'))}\n{"file":"b","sta`)
    const journal = await openJournal(file)
    expect(journal.unfinished.map(e => e.file)).toEqual(['a'])
    await journal.write(entry('c', 'taken'))
    await journal.close()
    const again = await openJournal(file)
    expect(again.unfinished.map(e => e.file)).toEqual(['a', 'c'])
    await again.close()
  })

  it('drops finished lines once the file has grown large', async () => {
    const lines = `${JSON.stringify(entry('long-ago', 'finished'))}\n`.repeat(12_000)
    const file = folder.put('j', `${lines}${JSON.stringify(entry('open', 'taken'))}\n`)
    expect(statSync(file).size).toBeGreaterThan(1_000_000)
    const journal = await openJournal(file)
    await journal.write(entry('new', 'taken'))
    await journal.close()
    expect(
      readFileSync(file, 'utf8')
        .trim()
        .split('\n')
        .map(line => JSON.parse(line).file),
    ).toEqual(['open', 'new'])
  })
})

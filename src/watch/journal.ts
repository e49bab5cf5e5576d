import { mkdir, open, readFile } from 'node:fs/promises'
import { dirname } from 'node:path'
import writeFileAtomic from 'write-file-atomic'
import type { Problem } from '../model/problem.js'

/** A file taken from the inbox, as the journal names it. */
export interface JournalEntry {
  /** Path from the inbox. */
  readonly file: string
  readonly size: number
  readonly mtimeMs: number
  /** Path of its sidecar from the inbox, or null. */
  readonly sidecar: string | null
  /** How far it got: `taken`, then `recorded` or `rejected` once its outcome is safe, then `finished`. */
  readonly state: 'taken' | 'recorded' | 'rejected' | 'finished'
  readonly at: string
  /** Path of the first scan of the bracket it belongs to; absent for a scan by itself. */
  readonly bracket?: string
  /** Why it was rejected, for the scans of a bracket: a crash may leave some of them behind. */
  readonly problem?: Problem
}

/** What was taken from the inbox and what became of it; on the disk before the next step is done. */
export interface Journal {
  /** Taken in an earlier run and never finished, in the order of taking. */
  readonly unfinished: readonly JournalEntry[]
  write(entry: JournalEntry): Promise<void>
  close(): Promise<void>
}

/** Finished lines are dropped when the file is opened, once it has grown past this many bytes. */
const TIDY_ABOVE = 1_000_000

/**
 * Opens the journal, an append-only file of one JSON object a line. A last line cut off by a crash is passed over, as is
 * any line that cannot be read: the journal only helps; what counts is the inbox and the history.
 */
export async function openJournal(file: string): Promise<Journal> {
  await mkdir(dirname(file), { recursive: true })
  const text = await readFile(file, 'utf8').catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return ''
    throw error
  })
  const unfinished = unfinishedEntries(text)
  if (text.length > TIDY_ABOVE)
    await writeFileAtomic(file, unfinished.map(entry => `${JSON.stringify(entry)}\n`).join(''))
  const handle = await open(file, 'a')
  if (text !== '' && !text.endsWith('\n') && text.length <= TIDY_ABOVE) await handle.appendFile('\n')
  // One line after the other: two writes at once could mix.
  let last: Promise<void> = Promise.resolve()
  return {
    unfinished,
    write(entry) {
      last = last
        .catch(() => {})
        .then(async () => {
          await handle.appendFile(`${JSON.stringify(entry)}\n`)
          await handle.datasync()
        })
      return last
    },
    async close() {
      await last.catch(() => {})
      await handle.close()
    },
  }
}

/** What was taken and never finished by the text of a journal, in the order of taking; lines that cannot be read are passed over. */
export function unfinishedEntries(text: string): JournalEntry[] {
  const open_ = new Map<string, JournalEntry>()
  for (const line of text.split('\n')) {
    const entry = parse(line)
    if (entry === null) continue
    if (entry.state === 'finished') open_.delete(entry.file)
    else open_.set(entry.file, entry)
  }
  return [...open_.values()]
}

function parse(line: string): JournalEntry | null {
  try {
    const entry = JSON.parse(line) as Partial<JournalEntry>
    return typeof entry.file === 'string' && typeof entry.state === 'string' ? (entry as JournalEntry) : null
  } catch {
    return null
  }
}

import type { ChainFault, ChainReport } from '../model/history-chain.js'
import { CHAIN_BEGIN, type ChainLink, chainHash } from './chain-hash.js'

/** As much of a database as the chain needs. */
export interface ChainDatabase {
  prepare(sql: string): {
    all(...values: unknown[]): unknown[]
    get(...values: unknown[]): unknown
    run(...values: unknown[]): unknown
  }
}

type Kind = ChainLink['kind']

interface LinkRow {
  readonly seq: number
  readonly kind: Kind
  readonly row: number
  readonly previous: string
  readonly hash: string
}

/** Rows followed in one read, so that a long history never lies in memory. */
const PAGE = 500
/** Faults told one by one; after that only their number. */
const MOST_FAULTS = 5

interface KindOfRow {
  readonly table: string
  /** Every column of a row that the chain holds fast. A step that adds columns to these tables must leave the old rows' hashes as they are. */
  readonly content: string
  /** How a row is called. */
  readonly named: (row: Readonly<Record<string, unknown>>) => string
}

const KINDS: Readonly<Record<Kind, KindOfRow>> = {
  inspection: {
    table: 'inspection',
    content: `SELECT i.seq, i.id, i.positive, i.job_type, i.scanned_at, i.scanned_ms, i.inspected_at, i.inspected_ms, i.verdict, i.why, i.next,
      i.sha256, r.json, l.look, l.reprint, l.replaces, l.reaches, l.reached_on, l.reached_earliest, l.reached_latest
    FROM inspection i LEFT JOIN inspection_record r ON r.seq = i.seq LEFT JOIN inspection_life l ON l.seq = i.seq WHERE i.seq = ?`,
    named: row => `inspection ${row.id} of "${row.positive}"`,
  },
  acceptance: {
    table: 'acceptance',
    content: 'SELECT seq, inspection, verdict, by_name, because, at FROM acceptance WHERE seq = ?',
    named: row => `the acceptance of ${row.inspection} by ${row.by_name}`,
  },
  event: {
    table: 'process_event',
    content: 'SELECT seq, on_at, kind, name, printer, stock, recorded_at FROM process_event WHERE seq = ?',
    named: row => `the event "${row.name}"`,
  },
  retirement: {
    table: 'retirement',
    content: 'SELECT seq, positive, prints, because, by_name, at, at_ms FROM retirement WHERE seq = ?',
    named: row => `the taking out of "${row.positive}"`,
  },
  use: {
    table: 'film_use',
    content: 'SELECT seq, positive, times, by_name, at, at_ms FROM film_use WHERE seq = ?',
    named: row => `the use of "${row.positive}"`,
  },
}

/** Triggers that refuse every change and deletion. */
const GUARDED = [
  'inspection',
  'inspection_record',
  'inspection_life',
  'acceptance',
  'process_event',
  'process_film',
  'retirement',
  'film_use',
  'chain',
] as const
const GUARDS = GUARDED.flatMap(table => [`${table}_not_changed`, `${table}_not_deleted`])

/** Appends rows to the chain; each must be in its table already, and the transaction must be the caller's. */
export function chainWriter(database: ChainDatabase): (kind: Kind, row: number | bigint) => void {
  const last = database.prepare('SELECT seq, hash FROM chain ORDER BY seq DESC LIMIT 1')
  const content = contentReader(database)
  const insert = database.prepare('INSERT INTO chain (seq, kind, row, previous, hash) VALUES (?, ?, ?, ?, ?)')
  return (kind, row) => {
    const before = (last.get() ?? { seq: 0, hash: CHAIN_BEGIN }) as Pick<LinkRow, 'seq' | 'hash'>
    const link = { seq: before.seq + 1, kind, previous: before.hash, content: content(kind, Number(row))! }
    insert.run(link.seq, kind, Number(row), link.previous, chainHash(link))
  }
}

/**
 * Follows the chain from its first row to its last. A row that was changed, taken out, put in or moved is found at its own place; the rows
 * after a changed one are held against the hash that is written, so that each fault is told once. That the newest rows are gone shows in the
 * database's own count. A history rewritten as a whole, hashes and all, shows only against a head that was noted elsewhere.
 */
export function followChain(database: ChainDatabase): ChainReport {
  const page = database.prepare(
    `SELECT seq, kind, row, previous, hash FROM chain WHERE seq > ? ORDER BY seq LIMIT ${PAGE}`,
  )
  const content = contentReader(database)
  const faults: ChainFault[] = []
  let faultCount = 0
  const tell = (row: number | null, says: string): void => {
    faultCount++
    if (faults.length < MOST_FAULTS) faults.push({ row, says })
  }
  let rows = 0
  let last: Pick<LinkRow, 'seq' | 'hash'> = { seq: 0, hash: CHAIN_BEGIN }
  for (;;) {
    const links = page.all(last.seq) as LinkRow[]
    for (const link of links) {
      rows++
      const { seq, kind, previous, hash } = link
      if (seq !== last.seq + 1) tell(last.seq + 1, `${between(last.seq + 1, seq - 1)} gone from the history`)
      else if (previous !== last.hash) tell(seq, `row ${seq} of the history does not follow on row ${last.seq}`)
      const found = content(kind, link.row)
      if (found === undefined) tell(seq, `row ${seq} of the history, ${kind} ${link.row}, is gone`)
      else if (chainHash({ seq, kind, previous, content: found }) !== hash)
        tell(seq, `row ${seq} of the history, ${named(kind, found)}, is not as it was written`)
      last = link
    }
    if (links.length < PAGE) break
  }
  const written = (
    database.prepare("SELECT seq FROM sqlite_sequence WHERE name = 'chain'").get() as { seq: number } | undefined
  )?.seq
  if (written !== undefined && written > last.seq)
    tell(last.seq + 1, `${between(last.seq + 1, written)} gone from the history: the newest`)
  for (const kind of Object.keys(KINDS) as Kind[]) {
    const strays = database
      .prepare(
        `SELECT t.seq FROM ${KINDS[kind].table} t LEFT JOIN chain c ON c.kind = '${kind}' AND c.row = t.seq WHERE c.seq IS NULL ORDER BY t.seq`,
      )
      .all() as { seq: number }[]
    for (const { seq } of strays)
      tell(null, `${named(kind, content(kind, seq)!)} was put into the history by something other than burngate`)
  }
  const guards = new Set(
    (database.prepare("SELECT name FROM sqlite_master WHERE type = 'trigger'").all() as { name: string }[]).map(
      ({ name }) => name,
    ),
  )
  for (const guard of GUARDS)
    if (!guards.has(guard)) tell(null, `the lock ${guard} that keeps the history from being rewritten was taken out`)
  return { rows, head: last.hash, faults, faultCount }
}

function contentReader(database: ChainDatabase) {
  // Asked for when first met: an older step of the database has not yet all of the tables.
  const read = new Map<Kind, ReturnType<ChainDatabase['prepare']>>()
  return (kind: Kind, row: number): object | undefined => {
    const known = KINDS[kind] as KindOfRow | undefined
    if (known === undefined) return undefined
    const statement = read.get(kind) ?? database.prepare(known.content)
    read.set(kind, statement)
    const found = statement.get(row) as Record<string, unknown> | undefined | null
    if (found === undefined || found === null) return undefined
    // libsql hangs facts of its own on a row.
    const { _metadata, ...columns } = found
    return columns
  }
}

function between(first: number, last: number): string {
  return first === last ? `row ${first} is` : `rows ${first} to ${last} are`
}

function named(kind: Kind, content: object): string {
  return KINDS[kind].named(content as Record<string, unknown>)
}

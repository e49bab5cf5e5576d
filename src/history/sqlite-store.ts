import { existsSync, statSync } from 'node:fs'
import { dirname } from 'node:path'
import Database from 'libsql'
import type { Acceptance } from '../model/acceptance.js'
import type { StoredPositive } from '../model/drawer.js'
import type { ChainReport } from '../model/history-chain.js'
import type { Inspection } from '../model/inspection.js'
import { ProblemError } from '../model/problem.js'
import type { LimitName } from '../model/reading.js'
import type { Retirement } from '../model/retirement.js'
import type { BoardRow, Store } from '../model/store.js'
import type { FilmUse } from '../model/use.js'
import { chainWriter, followChain } from './sqlite-chain.js'
import { lifeWriter, type Migration, SQLITE_MIGRATIONS } from './sqlite-migrations.js'
import { processStore } from './sqlite-process.js'

// The only file that imports libsql. It speaks the interface of better-sqlite3 and comes as a ready binary from the
// registry; `pluck` and `backup` do not work in it, so plain rows only.

/** How long a writer waits for another one before it gives up, ms. A commit to a slow share takes seconds at worst. */
const BUSY_TIMEOUT_MS = 15_000

/** Records handed out by `all` in one read, so that a long export never holds the database against a writer. */
const PAGE = 100

export interface SqliteStoreOptions {
  /** Other migrations than the shipped ones; for tests. */
  readonly migrations?: readonly Migration[]
  readonly busyTimeoutMs?: number
}

/**
 * The history in one SQLite file, made when it is not there. No write-ahead log, because its shared memory does not
 * work on network shares; every commit is on the disk before `add` answers.
 * @throws ProblemError DATABASE_UNUSABLE (not a database, damaged, of a newer burngate, of another program, no access),
 *   DATABASE_BUSY (locked by another program for longer than the timeout); every method of the store throws the same
 */
export async function openSqliteStore(file: string, options: SqliteStoreOptions = {}): Promise<Store> {
  const database = guarded(file, () => openDatabase(file, options))
  return storeOf(file, database)
}

/**
 * What SQLite itself says of the file: reads all of it, so seconds on a large history.
 * @returns null when sound, else the first fault
 */
export async function sqliteFault(file: string): Promise<string | null> {
  const database = guarded(file, () => openDatabase(file, {}))
  try {
    const rows = guarded(file, () => database.prepare('PRAGMA quick_check(1)').all()) as { quick_check: string }[]
    const answer = rows[0]?.quick_check ?? 'no answer'
    return answer === 'ok' ? null : answer
  } finally {
    database.close()
  }
}

/** Follows the chain of hashes of a history that nobody has open here. @throws ProblemError as `openSqliteStore` */
export async function sqliteChain(file: string): Promise<ChainReport> {
  const store = await openSqliteStore(file)
  try {
    return await store.checkChain()
  } finally {
    await store.close()
  }
}

function openDatabase(file: string, { migrations = SQLITE_MIGRATIONS, busyTimeoutMs = BUSY_TIMEOUT_MS }) {
  if (file !== ':memory:') {
    if (!existsSync(dirname(file)))
      throw new ProblemError('DATABASE_UNUSABLE', `${file}: there is no folder ${dirname(file)}`)
    if (existsSync(file) && !statSync(file).isFile())
      throw new ProblemError('DATABASE_UNUSABLE', `${file} is not a file`)
  }
  const database = new Database(file)
  try {
    database.exec(`PRAGMA busy_timeout = ${Math.round(busyTimeoutMs)}`)
    database.prepare('PRAGMA journal_mode = DELETE').get()
    database.exec('PRAGMA synchronous = FULL')
    database.exec('PRAGMA foreign_keys = ON')
    migrate(file, database, migrations)
    return database
  } catch (error) {
    database.close()
    throw error
  }
}

/** Brings the database to the newest shape: each step in a transaction of its own, in order, or not at all. */
function migrate(file: string, database: Database.Database, migrations: readonly Migration[]): void {
  migrations.forEach((migration, i) => {
    if (migration.number !== i + 1)
      throw new RangeError(`migration "${migration.name}" must have number ${i + 1}; got ${migration.number}`)
  })
  inTransaction(database, () => {
    const tables = database
      .prepare("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")
      .all() as { name: string }[]
    if (tables.length > 0 && !tables.some(t => t.name === 'migration'))
      throw new ProblemError('DATABASE_UNUSABLE', `${file} belongs to another program`)
    if (tables.length === 0) database.exec('CREATE TABLE migration (number INTEGER PRIMARY KEY, name TEXT NOT NULL)')
  })
  const applied = () =>
    database.prepare('SELECT number, name FROM migration ORDER BY number').all() as { number: number; name: string }[]
  const check = (rows: readonly { number: number; name: string }[]) => {
    if (rows.length > migrations.length)
      throw new ProblemError(
        'DATABASE_UNUSABLE',
        `${file} was written by a newer burngate: its shape is ${rows.length}, this one knows ${migrations.length}`,
      )
    rows.forEach((row, i) => {
      const known = migrations[i]!
      if (row.number !== known.number || row.name !== known.name)
        throw new ProblemError(
          'DATABASE_UNUSABLE',
          `${file} has step ${row.number} "${row.name}" where step ${known.number} "${known.name}" belongs`,
        )
    })
  }
  const before = applied()
  check(before)
  for (const migration of migrations.slice(before.length))
    inTransaction(database, () => {
      // Asked again inside the transaction: two programs may open a new workspace at the same moment.
      const rows = applied()
      check(rows)
      if (rows.length !== migration.number - 1) return
      database.exec(migration.sql)
      migration.after?.(database)
      database.prepare('INSERT INTO migration (number, name) VALUES (?, ?)').run(migration.number, migration.name)
    })
}

function inTransaction<T>(database: Database.Database, work: () => T): T {
  database.exec('BEGIN IMMEDIATE')
  try {
    const result = work()
    database.exec('COMMIT')
    return result
  } catch (error) {
    if (database.inTransaction) database.exec('ROLLBACK')
    throw error
  }
}

interface RecordRow {
  readonly seq: number
  readonly json: string
}

function storeOf(file: string, database: Database.Database): Store {
  const record = 'SELECT r.seq, r.json FROM inspection i JOIN inspection_record r ON r.seq = i.seq'
  const insert = database.prepare(
    `INSERT INTO inspection
       (id, positive, job_type, scanned_at, scanned_ms, inspected_at, inspected_ms, verdict, why, next, sha256)
     VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING`,
  )
  const insertRecord = database.prepare('INSERT INTO inspection_record (seq, json) VALUES (?, ?)')
  const byId = database.prepare(`${record} WHERE i.id = ?`)
  const byPositive = database.prepare(`${record} WHERE i.positive = ? ORDER BY i.scanned_ms, i.inspected_ms, i.seq`)
  const byScan = database.prepare(`${record} WHERE i.sha256 = ? AND i.positive = ? ORDER BY i.seq DESC LIMIT 1`)
  const lastJobType = database.prepare(
    'SELECT job_type FROM inspection WHERE positive = ? ORDER BY scanned_ms DESC, inspected_ms DESC, seq DESC LIMIT 1',
  )
  // Counting reads only the index on (positive, scanned_ms, inspected_ms, seq); the newest of each positive is its last entry there.
  const board = database.prepare(
    `SELECT i.id, i.positive, i.job_type, i.scanned_at, i.inspected_at, i.verdict, i.why, i.next, p.inspections - 1 AS earlier,
            a.verdict AS accepted_verdict, a.by_name, a.because, a.at
       FROM (SELECT positive, count(*) AS inspections FROM inspection GROUP BY positive) p
       JOIN inspection i ON i.seq = (
         SELECT seq FROM inspection WHERE positive = p.positive ORDER BY scanned_ms DESC, inspected_ms DESC, seq DESC LIMIT 1
       )
       LEFT JOIN acceptance a ON a.seq = (SELECT max(seq) FROM acceptance WHERE inspection = i.id)
      ORDER BY i.scanned_ms DESC, i.inspected_ms DESC, i.seq DESC`,
  )
  const insertLife = lifeWriter(database)
  const link = chainWriter(database)
  const verdictOf = database.prepare('SELECT verdict FROM inspection WHERE id = ?')
  const insertAcceptance = database.prepare(
    `INSERT INTO acceptance (inspection, verdict, by_name, because, at) VALUES (?, ?, ?, ?, ?)
     ON CONFLICT (inspection, by_name, because) DO NOTHING`,
  )
  const acceptancesOf = database.prepare(
    `SELECT a.inspection, a.verdict AS accepted_verdict, a.by_name, a.because, a.at
       FROM acceptance a JOIN inspection i ON i.id = a.inspection WHERE i.positive = ? ORDER BY a.seq`,
  )
  const acceptances = database.prepare(
    'SELECT inspection, verdict AS accepted_verdict, by_name, because, at FROM acceptance ORDER BY seq',
  )
  // Of the bare columns beside min() and max() SQLite gives those of that very row.
  const stored = database.prepare(
    `WITH reprint AS (
       SELECT i.positive, max(i.scanned_ms) AS ms, i.scanned_at
         FROM inspection_life l JOIN inspection i ON i.seq = l.seq
        WHERE l.reprint = 1 AND l.look = 1 AND EXISTS (
          SELECT 1 FROM inspection e JOIN inspection_life el ON el.seq = e.seq
           WHERE e.positive = i.positive AND e.scanned_ms < i.scanned_ms AND el.look = 1
        ) GROUP BY i.positive
     ), heir AS (
       SELECT l.replaces, min(i.scanned_ms) AS ms, i.positive, i.scanned_at
         FROM inspection_life l JOIN inspection i ON i.seq = l.seq
        WHERE l.replaces IS NOT NULL AND l.look = 1 GROUP BY l.replaces
     )
     SELECT i.positive, i.id, i.job_type, i.scanned_at, i.verdict,
            EXISTS (SELECT 1 FROM acceptance a WHERE a.inspection = i.id) AS accepted,
            l.reaches, l.reached_on, l.reached_earliest, l.reached_latest,
            p.scanned_at AS reprinted_at, h.positive AS heir, h.scanned_at AS heir_at,
            r.because AS retired_because, r.by_name AS retired_by, r.at AS retired_at,
            EXISTS (SELECT 1 FROM retirement o WHERE o.positive = i.positive AND o.at_ms >= p.ms) AS older_retired,
            (SELECT coalesce(sum(u.times), 0) FROM film_use u WHERE u.positive = i.positive AND (p.ms IS NULL OR u.at_ms >= p.ms)) AS uses
       FROM (SELECT DISTINCT positive FROM inspection) n
       JOIN inspection i ON i.seq = (
         SELECT x.seq FROM inspection x JOIN inspection_life xl ON xl.seq = x.seq
          WHERE x.positive = n.positive AND xl.look = 1
          ORDER BY x.scanned_ms DESC, x.inspected_ms DESC, x.seq DESC LIMIT 1
       )
       JOIN inspection_life l ON l.seq = i.seq
       LEFT JOIN reprint p ON p.positive = i.positive
       LEFT JOIN heir h ON h.replaces = i.positive AND (p.ms IS NULL OR h.ms >= p.ms)
       LEFT JOIN retirement r ON r.seq = (
         SELECT max(seq) FROM retirement WHERE positive = i.positive AND prints = 'all' AND at_ms >= i.scanned_ms
       )
      ORDER BY i.positive`,
  )
  const insertRetirement = database.prepare(
    'INSERT INTO retirement (positive, prints, because, by_name, at, at_ms) VALUES (?, ?, ?, ?, ?, ?)',
  )
  const retirementsOf = database.prepare(
    'SELECT positive, prints, because, by_name, at FROM retirement WHERE positive = ? ORDER BY seq',
  )
  const insertUse = database.prepare(
    'INSERT INTO film_use (positive, times, by_name, at, at_ms) VALUES (?, ?, ?, ?, ?)',
  )
  const useColumns = 'SELECT positive, times, by_name, at FROM film_use'
  const usesOf = database.prepare(`${useColumns} WHERE positive = ? ORDER BY seq`)
  const allUses = database.prepare(`${useColumns} ORDER BY seq`)
  const page = database.prepare(`${record} WHERE i.seq > ? ORDER BY i.seq LIMIT ${PAGE}`)

  const read = (row: unknown): Inspection | null =>
    row === undefined || row === null ? null : (JSON.parse((row as RecordRow).json) as Inspection)
  let open = true
  const ask = <T>(work: () => T): T => {
    if (!open) throw new Error(`the history ${file} was asked after it was closed`)
    return guarded(file, work)
  }

  return {
    ...processStore(database, ask, work =>
      ask(() =>
        inTransaction(database, () => {
          const row = work()
          if (row !== null) link('event', row)
          return row !== null
        }),
      ),
    ),
    async add(inspection) {
      return ask(() =>
        inTransaction(database, () => {
          const worst = inspection.findings[0]
          const done = insert.run(
            inspection.id,
            inspection.positive,
            inspection.jobType,
            inspection.scannedAt,
            moment('scannedAt', inspection.scannedAt),
            inspection.inspectedAt,
            moment('inspectedAt', inspection.inspectedAt),
            inspection.verdict,
            worst?.why ?? '',
            worst?.next ?? '',
            inspection.scan.sha256,
          )
          if (done.changes === 0) return false
          const seq = Number(done.lastInsertRowid)
          insertRecord.run(seq, JSON.stringify(inspection))
          insertLife(seq, inspection)
          link('inspection', seq)
          return true
        }),
      )
    },
    async byId(id) {
      return ask(() => read(byId.get(id)))
    },
    async byPositive(positive) {
      return ask(() => byPositive.all(positive).map(row => read(row)!))
    },
    async byScan(sha256, positive) {
      return ask(() => read(byScan.get(sha256, positive)))
    },
    async lastJobType(positive) {
      const row = ask(() => lastJobType.get(positive)) as { job_type: string } | undefined
      return row?.job_type ?? null
    },
    async board() {
      return ask(() => board.all() as BoardColumns[]).map(
        (row): BoardRow => ({
          id: row.id,
          positive: row.positive,
          jobType: row.job_type,
          scannedAt: row.scanned_at,
          inspectedAt: row.inspected_at,
          verdict: row.verdict,
          why: row.why,
          next: row.next,
          earlier: row.earlier,
          ...(row.by_name === null ? {} : { accepted: acceptanceOf({ ...row, inspection: row.id }) }),
        }),
      )
    },
    async accept({ inspection, verdict, by, because, at }) {
      if (by.trim() === '' || because.trim() === '')
        throw new RangeError(`an acceptance must have a name and a reason; got ${JSON.stringify({ by, because })}`)
      moment('at', at)
      return ask(() =>
        inTransaction(database, () => {
          const found = verdictOf.get(inspection) as { verdict: string } | undefined
          if (found?.verdict !== verdict)
            throw new RangeError(
              `an acceptance must stand beside the verdict of its inspection; got ${verdict} for ${inspection}, which ${found === undefined ? 'is not there' : `says ${found.verdict}`}`,
            )
          const done = insertAcceptance.run(inspection, verdict, by, because, at)
          if (done.changes === 0) return false
          link('acceptance', Number(done.lastInsertRowid))
          return true
        }),
      )
    },
    async acceptancesOf(positive) {
      return ask(() => acceptancesOf.all(positive) as AcceptanceColumns[]).map(acceptanceOf)
    },
    async acceptances() {
      return ask(() => acceptances.all() as AcceptanceColumns[]).map(acceptanceOf)
    },
    async retire({ positive, prints, because, by, at }) {
      if (because.trim() === '') throw new RangeError('a film is taken out for a reason; got none')
      const ms = moment('at', at)
      ask(() =>
        inTransaction(database, () => {
          link('retirement', insertRetirement.run(positive, prints, because, by, at, ms).lastInsertRowid)
        }),
      )
    },
    async retirementsOf(positive) {
      return (ask(() => retirementsOf.all(positive)) as RetirementColumns[]).map(
        ({ by_name: by, positive, prints, because, at }): Retirement => ({ positive, prints, because, by, at }),
      )
    },
    async use({ positive, times, by, at }) {
      if (!(Number.isInteger(times) && times >= 1))
        throw new RangeError(`times must be a whole number of 1 or more; got ${times}`)
      const ms = moment('at', at)
      ask(() =>
        inTransaction(database, () => {
          link('use', insertUse.run(positive, times, by, at, ms).lastInsertRowid)
        }),
      )
    },
    async usesOf(positive) {
      return ask(() => usesOf.all(positive) as UseColumns[]).map(useOf)
    },
    async uses() {
      return ask(() => allUses.all() as UseColumns[]).map(useOf)
    },
    async stored() {
      return ask(() => stored.all() as StoredColumns[]).map(storedOf)
    },
    async checkChain() {
      // One transaction, so that what is added meanwhile is no fault.
      return ask(() => {
        database.exec('BEGIN')
        try {
          return followChain(database)
        } finally {
          database.exec('ROLLBACK')
        }
      })
    },
    async *all() {
      let last = 0
      for (;;) {
        const rows = ask(() => page.all(last)) as RecordRow[]
        for (const row of rows) yield read(row)!
        if (rows.length < PAGE) return
        last = rows[rows.length - 1]!.seq
      }
    },
    async close() {
      if (open) database.close()
      open = false
    },
  }
}

interface AcceptanceColumns {
  readonly inspection: string
  readonly accepted_verdict: Acceptance['verdict']
  readonly by_name: string
  readonly because: string
  readonly at: string
}

function acceptanceOf(row: AcceptanceColumns): Acceptance {
  return {
    inspection: row.inspection,
    verdict: row.accepted_verdict,
    by: row.by_name,
    because: row.because,
    at: row.at,
  }
}

interface RetirementColumns extends Omit<Retirement, 'by'> {
  readonly by_name: string | null
}

interface UseColumns extends Omit<FilmUse, 'by'> {
  readonly by_name: string | null
}

function useOf({ positive, times, by_name: by, at }: UseColumns): FilmUse {
  return { positive, times, by, at }
}

interface StoredColumns {
  readonly positive: string
  readonly id: string
  readonly job_type: string
  readonly scanned_at: string
  readonly verdict: StoredPositive['verdict']
  readonly accepted: number
  readonly reaches: LimitName | null
  readonly reached_on: string
  readonly reached_earliest: string
  readonly reached_latest: string | null
  readonly reprinted_at: string | null
  readonly heir: string | null
  readonly heir_at: string
  readonly retired_because: string | null
  readonly retired_by: string | null
  readonly retired_at: string
  readonly older_retired: number
  readonly uses: number
}

function storedOf(row: StoredColumns): StoredPositive {
  return {
    positive: row.positive,
    id: row.id,
    jobType: row.job_type,
    scannedAt: row.scanned_at,
    verdict: row.verdict,
    accepted: row.accepted === 1,
    forecast:
      row.reaches === null
        ? null
        : {
            reaches: row.reaches,
            on: row.reached_on,
            earliest: row.reached_earliest,
            latest: row.reached_latest,
          },
    reprintedAt: row.reprinted_at,
    replacedBy: row.heir === null ? null : { positive: row.heir, scannedAt: row.heir_at },
    retired:
      row.retired_because === null ? null : { at: row.retired_at, because: row.retired_because, by: row.retired_by },
    olderRetired: row.older_retired === 1,
    uses: row.uses,
  }
}

interface BoardColumns extends Omit<AcceptanceColumns, 'inspection'> {
  readonly id: string
  readonly positive: string
  readonly job_type: string
  readonly scanned_at: string
  readonly inspected_at: string
  readonly verdict: BoardRow['verdict']
  readonly why: string
  readonly next: string
  readonly earlier: number
}

/** A time without a zone is the clock of the place where the program runs, as everywhere in burngate. */
function moment(name: string, iso: string): number {
  const ms = Date.parse(iso)
  if (!Number.isFinite(ms)) throw new RangeError(`${name} must be an ISO 8601 time; got ${JSON.stringify(iso)}`)
  return ms
}

/** Codes that mean the file, the disk or another program, not a fault of our own SQL. */
const DISK_FAULT = /^SQLITE_(NOTADB|CORRUPT|CANTOPEN|READONLY|IOERR|FULL|PERM|AUTH|NOMEM|FORMAT|PROTOCOL|NOLFS)/
const LOCKED = /^SQLITE_(BUSY|LOCKED)/

function guarded<T>(file: string, work: () => T): T {
  try {
    return work()
  } catch (error) {
    if (!(error instanceof Error) || error instanceof ProblemError) throw error
    const { code = '' } = error as { code?: string }
    const said = error.message.split('\n', 1)[0]!
    if (LOCKED.test(code) || /database is locked/.test(said)) throw new ProblemError('DATABASE_BUSY', file)
    if (DISK_FAULT.test(code) || /unable to open|ConnectionFailed|disk image|malformed|not a database/i.test(said))
      throw new ProblemError('DATABASE_UNUSABLE', `${file}: ${said}`)
    throw error
  }
}

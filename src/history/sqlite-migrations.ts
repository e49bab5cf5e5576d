import type { Inspection } from '../model/inspection.js'
import { filmLife } from './film-life.js'
import { type ChainDatabase, chainWriter } from './sqlite-chain.js'
import { PROCESS_TABLES } from './sqlite-process.js'

/** One step of the database's shape. Numbers begin at 1 and have no gaps; a step that has shipped is never changed. */
export interface Migration {
  readonly number: number
  readonly name: string
  readonly sql: string
  /** What SQL cannot do, in the same transaction after it. */
  readonly after?: (database: ChainDatabase) => void
}

/**
 * The history's shape, step by step.
 *
 * `inspection` holds what is searched and listed, slim enough that the board reads 60 000 rows in a moment; the whole
 * record lies beside it in `inspection_record`. Triggers refuse every change and deletion: the history only grows.
 * `inspection_life` has what the drawers are sorted by, `acceptance` what people let through, `process_event` what was changed on printers,
 * `retirement` the films that were taken out of their drawers, `film_use` how often films were used. `chain` holds every row of them fast: each link has the hash of the one before
 * (`chain-hash.ts`). Steps 4 and 5 copy the links into a wider table, their hashes and the database's count of them unchanged.
 * `scanned_ms` and `inspected_ms` are milliseconds since 1970, kept because ISO texts with different zones do not sort.
 */
export const SQLITE_MIGRATIONS: readonly Migration[] = [
  {
    number: 1,
    name: 'inspections',
    sql: `
      CREATE TABLE inspection (
        seq INTEGER PRIMARY KEY AUTOINCREMENT,
        id TEXT NOT NULL UNIQUE,
        positive TEXT NOT NULL,
        job_type TEXT NOT NULL,
        scanned_at TEXT NOT NULL,
        scanned_ms INTEGER NOT NULL,
        inspected_at TEXT NOT NULL,
        inspected_ms INTEGER NOT NULL,
        verdict TEXT NOT NULL CHECK (verdict IN ('pass', 'fail', 'recheck')),
        why TEXT NOT NULL,
        next TEXT NOT NULL,
        sha256 TEXT NOT NULL
      );
      CREATE INDEX inspection_of_positive ON inspection (positive, scanned_ms, inspected_ms, seq);
      CREATE INDEX inspection_of_scan ON inspection (sha256, positive);
      CREATE TABLE inspection_record (
        seq INTEGER PRIMARY KEY REFERENCES inspection (seq),
        json TEXT NOT NULL
      );
      CREATE TRIGGER inspection_not_changed BEFORE UPDATE ON inspection
        BEGIN SELECT RAISE(ABORT, 'the history is append-only'); END;
      CREATE TRIGGER inspection_not_deleted BEFORE DELETE ON inspection
        BEGIN SELECT RAISE(ABORT, 'the history is append-only'); END;
      CREATE TRIGGER inspection_record_not_changed BEFORE UPDATE ON inspection_record
        BEGIN SELECT RAISE(ABORT, 'the history is append-only'); END;
      CREATE TRIGGER inspection_record_not_deleted BEFORE DELETE ON inspection_record
        BEGIN SELECT RAISE(ABORT, 'the history is append-only'); END;
    `,
  },
  {
    number: 2,
    name: 'acceptances, lives and the chain',
    sql: `
      CREATE TABLE inspection_life (
        seq INTEGER PRIMARY KEY REFERENCES inspection (seq),
        look INTEGER NOT NULL,
        reprint INTEGER NOT NULL,
        replaces TEXT,
        reaches TEXT,
        reached_on TEXT,
        reached_earliest TEXT,
        reached_latest TEXT
      );
      CREATE TABLE acceptance (
        seq INTEGER PRIMARY KEY AUTOINCREMENT,
        inspection TEXT NOT NULL REFERENCES inspection (id),
        verdict TEXT NOT NULL CHECK (verdict IN ('fail', 'recheck')),
        by_name TEXT NOT NULL CHECK (trim(by_name) <> ''),
        because TEXT NOT NULL CHECK (trim(because) <> ''),
        at TEXT NOT NULL,
        UNIQUE (inspection, by_name, because)
      );
      CREATE TABLE chain (
        seq INTEGER PRIMARY KEY AUTOINCREMENT,
        kind TEXT NOT NULL CHECK (kind IN ('inspection', 'acceptance')),
        row INTEGER NOT NULL,
        previous TEXT NOT NULL,
        hash TEXT NOT NULL,
        UNIQUE (kind, row)
      );
      ${['inspection_life', 'acceptance', 'chain'].map(guardsOf).join('')}
    `,
    after: linkWhatIsThere,
  },
  { number: 3, name: 'process events and films', sql: PROCESS_TABLES },
  {
    number: 4,
    name: 'events in the chain, films taken out',
    sql: `
      CREATE TABLE retirement (
        seq INTEGER PRIMARY KEY AUTOINCREMENT,
        positive TEXT NOT NULL,
        prints TEXT NOT NULL CHECK (prints IN ('all', 'older')),
        because TEXT NOT NULL CHECK (trim(because) <> ''),
        by_name TEXT,
        at TEXT NOT NULL,
        at_ms INTEGER NOT NULL
      );
      CREATE INDEX retirement_of_positive ON retirement (positive, at_ms);
      CREATE TABLE chain_wider (
        seq INTEGER PRIMARY KEY AUTOINCREMENT,
        kind TEXT NOT NULL CHECK (kind IN ('inspection', 'acceptance', 'event', 'retirement')),
        row INTEGER NOT NULL,
        previous TEXT NOT NULL,
        hash TEXT NOT NULL,
        UNIQUE (kind, row)
      );
      INSERT INTO chain_wider SELECT seq, kind, row, previous, hash FROM chain ORDER BY seq;
      DELETE FROM sqlite_sequence WHERE name = 'chain_wider';
      INSERT INTO sqlite_sequence (name, seq) SELECT 'chain_wider', seq FROM sqlite_sequence WHERE name = 'chain';
      DROP TABLE chain;
      ALTER TABLE chain_wider RENAME TO chain;
      ${['retirement', 'chain'].map(guardsOf).join('')}
    `,
    after: linkEvents,
  },
  {
    number: 5,
    name: 'uses of films',
    sql: `
      CREATE TABLE film_use (
        seq INTEGER PRIMARY KEY AUTOINCREMENT,
        positive TEXT NOT NULL,
        times INTEGER NOT NULL CHECK (times >= 1),
        by_name TEXT,
        at TEXT NOT NULL,
        at_ms INTEGER NOT NULL
      );
      CREATE INDEX film_use_of_positive ON film_use (positive, at_ms);
      CREATE TABLE chain_wider (
        seq INTEGER PRIMARY KEY AUTOINCREMENT,
        kind TEXT NOT NULL CHECK (kind IN ('inspection', 'acceptance', 'event', 'retirement', 'use')),
        row INTEGER NOT NULL,
        previous TEXT NOT NULL,
        hash TEXT NOT NULL,
        UNIQUE (kind, row)
      );
      INSERT INTO chain_wider SELECT seq, kind, row, previous, hash FROM chain ORDER BY seq;
      DELETE FROM sqlite_sequence WHERE name = 'chain_wider';
      INSERT INTO sqlite_sequence (name, seq) SELECT 'chain_wider', seq FROM sqlite_sequence WHERE name = 'chain';
      DROP TABLE chain;
      ALTER TABLE chain_wider RENAME TO chain;
      ${['film_use', 'chain'].map(guardsOf).join('')}
    `,
  },
]

function guardsOf(table: string): string {
  return `
      CREATE TRIGGER ${table}_not_changed BEFORE UPDATE ON ${table}
        BEGIN SELECT RAISE(ABORT, 'the history is append-only'); END;
      CREATE TRIGGER ${table}_not_deleted BEFORE DELETE ON ${table}
        BEGIN SELECT RAISE(ABORT, 'the history is append-only'); END;`
}

/** Brings the rows that were there before the chain into it, in the order they were added. */
function linkWhatIsThere(database: ChainDatabase): void {
  const next = database.prepare(
    'SELECT i.seq, r.json FROM inspection i LEFT JOIN inspection_record r ON r.seq = i.seq WHERE i.seq > ? ORDER BY i.seq LIMIT 1',
  )
  const insert = lifeWriter(database)
  const link = chainWriter(database)
  for (let last = 0; ; ) {
    const row = next.get(last) as { seq: number; json: string | null } | undefined | null
    if (row === undefined || row === null) return
    insert(row.seq, recordOf(row.json))
    link('inspection', row.seq)
    last = row.seq
  }
}

/** Events written down before they were in the chain come into it behind the inspections of that day, in the order they were written. */
function linkEvents(database: ChainDatabase): void {
  const link = chainWriter(database)
  for (const { seq } of database.prepare('SELECT seq FROM process_event ORDER BY seq').all() as { seq: number }[])
    link('event', seq)
}

/** A damaged record is brought in as it is: the chain must not keep a shop from its history. */
function recordOf(json: string | null): Partial<Inspection> {
  try {
    return JSON.parse(json ?? '{}') as Inspection
  } catch {
    return {}
  }
}

/** Adds what an inspection says of the life of its film. */
export function lifeWriter(database: ChainDatabase): (seq: number, inspection: Partial<Inspection>) => void {
  const insert = database.prepare(
    `INSERT INTO inspection_life (seq, look, reprint, replaces, reaches, reached_on, reached_earliest, reached_latest)
     VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
  )
  return (seq, inspection) => {
    const { look, reprint, replaces, forecast } = filmLife(inspection)
    insert.run(
      seq,
      look ? 1 : 0,
      reprint ? 1 : 0,
      replaces,
      forecast?.reaches ?? null,
      forecast?.on ?? null,
      forecast?.earliest ?? null,
      forecast?.latest ?? null,
    )
  }
}

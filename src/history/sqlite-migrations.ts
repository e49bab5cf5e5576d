/** One step of the database's shape. Numbers begin at 1 and have no gaps; a step that has shipped is never changed. */
export interface Migration {
  readonly number: number
  readonly name: string
  readonly sql: string
}

/**
 * The history's shape, step by step.
 *
 * `inspection` holds what is searched and listed, slim enough that the board reads 60 000 rows in a moment; the whole
 * record lies beside it in `inspection_record`. Triggers refuse every change and deletion: the history only grows.
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
]

import type { FilmValue, ProcessEvent, ProcessFilm, ProcessStore } from '../model/process.js'

/** As much of a database as events and films need. */
interface ProcessDatabase {
  prepare(sql: string): {
    all(...values: unknown[]): unknown[]
    run(...values: unknown[]): { changes: number; lastInsertRowid: number | bigint }
  }
}

/** What a record tells of the process, from its JSON: `x` is the JSON's column. */
const FILM_OF = (seq: string, x: string) => `
  SELECT ${seq}, json_extract(${x}, '$.told.printer'), json_extract(${x}, '$.told.mode'), json_extract(${x}, '$.told.stock'),
    json_extract(${x}, '$.scanner.name'), json_extract(${x}, '$.artwork.sha256'), json_extract(${x}, '$.standing.kind'),
    json_extract(${x}, '$.growth.baseline.id'), json_extract(${x}, '$.growth.days'),
    (SELECT json_group_object(key, json_array(json_extract(value, '$.value'), json_extract(value, '$.expanded'),
       json_extract(value, '$.bound'), json_extract(value, '$.method')))
      FROM (SELECT key, value FROM json_each(${x}, '$.readings') WHERE type = 'object'
        UNION ALL SELECT key, value FROM json_each(${x}, '$.growth')
          WHERE key IN ('edgeGrowth', 'densityLoss') AND type = 'object'
            AND json_type(${x}, '$.readings.' || key) IS NULL))`

/**
 * Tables for the process: events, and the few numbers of each inspection that charts need, so that 60 000 of them are read in a moment. They
 * are taken from the record by the database itself, whoever adds it; the record stays the truth.
 */
export const PROCESS_TABLES = `
  CREATE TABLE process_event (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    on_at TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('newHead', 'newInk', 'newBox', 'other')),
    name TEXT NOT NULL CHECK (trim(name) <> ''),
    printer TEXT,
    stock TEXT,
    recorded_at TEXT NOT NULL
  );
  CREATE UNIQUE INDEX process_event_once ON process_event (on_at, name, coalesce(printer, ''), coalesce(stock, ''));
  CREATE TABLE process_film (
    seq INTEGER PRIMARY KEY REFERENCES inspection (seq),
    printer TEXT, mode TEXT, stock TEXT, scanner TEXT, artwork TEXT, standing TEXT, baseline TEXT, days REAL,
    readings TEXT NOT NULL
  );
  ${['process_event', 'process_film']
    .map(
      table => `
  CREATE TRIGGER ${table}_not_changed BEFORE UPDATE ON ${table}
    BEGIN SELECT RAISE(ABORT, 'the history is append-only'); END;
  CREATE TRIGGER ${table}_not_deleted BEFORE DELETE ON ${table}
    BEGIN SELECT RAISE(ABORT, 'the history is append-only'); END;`,
    )
    .join('')}
  INSERT INTO process_film ${FILM_OF('r.seq', 'r.json')} FROM inspection_record r WHERE json_valid(r.json);
  CREATE TRIGGER process_film_added AFTER INSERT ON inspection_record WHEN json_valid(NEW.json)
    BEGIN INSERT INTO process_film ${FILM_OF('NEW.seq', 'NEW.json')}; END;
`

/**
 * Events and films of the process in an open database.
 * @param ask wraps every access, so that the disk's faults become problems
 * @param add wraps every addition in a transaction, and puts the row it names into the chain; null: nothing was added
 */
export function processStore(
  database: ProcessDatabase,
  ask: <T>(work: () => T) => T,
  add: (work: () => number | bigint | null) => boolean,
): ProcessStore {
  const insert = database.prepare(
    `INSERT INTO process_event (on_at, kind, name, printer, stock, recorded_at) VALUES (?, ?, ?, ?, ?, ?)
     ON CONFLICT DO NOTHING`,
  )
  const events = database.prepare('SELECT * FROM process_event ORDER BY seq')
  const films = database.prepare(
    `SELECT i.id, i.positive, i.scanned_at, i.sha256, f.printer, f.mode, f.stock, f.scanner, f.artwork, f.standing, f.baseline, f.days, f.readings
       FROM process_film f JOIN inspection i ON i.seq = f.seq ORDER BY i.scanned_ms, i.seq`,
  )
  return {
    async addEvent({ on, kind, name, printer, stock, recordedAt }) {
      for (const [what, iso] of [
        ['on', on],
        ['recordedAt', recordedAt],
      ] as const)
        if (!Number.isFinite(Date.parse(iso)))
          throw new RangeError(`${what} must be an ISO 8601 time; got ${JSON.stringify(iso)}`)
      return add(() => {
        const done = insert.run(on, kind, name, printer, stock, recordedAt)
        return done.changes > 0 ? done.lastInsertRowid : null
      })
    },
    async events() {
      return (ask(() => events.all()) as EventColumns[])
        .map(
          (row): ProcessEvent => ({
            on: row.on_at,
            kind: row.kind,
            name: row.name,
            printer: row.printer,
            stock: row.stock,
            recordedAt: row.recorded_at,
          }),
        )
        .sort((a, b) => Date.parse(a.on) - Date.parse(b.on))
    },
    async processFilms() {
      return (ask(() => films.all()) as FilmColumns[]).map(filmOf)
    },
  }
}

interface EventColumns {
  readonly on_at: string
  readonly kind: ProcessEvent['kind']
  readonly name: string
  readonly printer: string | null
  readonly stock: string | null
  readonly recorded_at: string
}

interface FilmColumns extends Omit<ProcessFilm, 'scannedAt' | 'readings'> {
  readonly scanned_at: string
  readonly readings: string
}

function filmOf(row: FilmColumns): ProcessFilm {
  const slim = JSON.parse(row.readings) as Record<string, [number, number, FilmValue['bound'], string]>
  const readings: Record<string, FilmValue> = {}
  for (const [name, [value, expanded, bound, method]] of Object.entries(slim))
    readings[name] = { value, expanded, bound, method }
  return {
    id: row.id,
    positive: row.positive,
    scannedAt: row.scanned_at,
    sha256: row.sha256,
    // A name that is all digits may have been stored as a number.
    printer: row.printer === null ? null : String(row.printer),
    mode: row.mode === null ? null : String(row.mode),
    stock: row.stock === null ? null : String(row.stock),
    scanner: row.scanner,
    artwork: row.artwork,
    standing: row.standing,
    baseline: row.baseline,
    days: row.days,
    readings,
  }
}

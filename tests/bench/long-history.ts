import Database from 'libsql'
import { filmLife } from '../../src/history/film-life.js'
import { openSqliteStore } from '../../src/history/sqlite-store.js'
import { inspectionRecord } from '../support/inspection-record.js'

const POSITIVES = 5000
const SCANS = 12
const MONTH_MS = 30 * 86_400_000
/** The one positive whose page is written. */
export const LOOKED_AT = 'JOB-2500'

/**
 * Fills a workspace's history with five years of a shop: 5000 positives, 12 scans each. Written past the store in one go; the chain of
 * hashes stays empty, for pages do not read it.
 */
export async function longHistory(file: string): Promise<void> {
  await (await openSqliteStore(file)).close()
  const database = new Database(file)
  try {
    database.exec('BEGIN')
    const row = database.prepare(
      `INSERT INTO inspection (id, positive, job_type, scanned_at, scanned_ms, inspected_at, inspected_ms, verdict, why, next, sha256)
       VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, '', ?)`,
    )
    const record = database.prepare('INSERT INTO inspection_record (seq, json) VALUES (?, ?)')
    const life = database.prepare('INSERT INTO inspection_life (seq, look, reprint, replaces) VALUES (?, ?, ?, ?)')
    const begin = Date.parse('2021-06-01T08:00:00Z')
    let seq = 0
    for (let scan = 0; scan < SCANS; scan++)
      for (let number = 0; number < POSITIVES; number++) {
        seq++
        const ms = begin + scan * 5 * MONTH_MS + number * 60_000
        const positive = `JOB-${number}`
        const inspection = grown(positive, seq, scan, new Date(ms).toISOString())
        const { verdict, findings, scan: of } = inspection
        row.run(
          inspection.id,
          positive,
          inspection.jobType,
          inspection.scannedAt,
          ms,
          inspection.inspectedAt,
          ms,
          verdict,
          findings[0]!.why,
          of.sha256,
        )
        record.run(seq, JSON.stringify(inspection))
        const { look, reprint, replaces } = filmLife(inspection)
        life.run(seq, look ? 1 : 0, reprint ? 1 : 0, replaces)
      }
    database.exec('COMMIT')
  } finally {
    database.close()
  }
}

/** A record as an inspection leaves it, about as long: twenty places a reading. */
function grown(positive: string, seq: number, scan: number, at: string) {
  const told = (value: number, expanded: number, unit: 'D' | 'um', method: string) => ({
    value,
    unit,
    expanded,
    bound: null,
    n: 20,
    parts: Array.from({ length: 20 }, (_, k) => ({
      id: `place-${k + 1}`,
      place: { column: 100 * k, row: 200 * k },
      value: value + 0.001 * k,
      expanded,
      bound: null,
    })),
    budget: [
      { name: 'tablet', standard: expanded / 4 },
      { name: 'noise', standard: expanded / 3 },
    ],
    method,
  })
  const growth = 0.8 * scan + 0.3 * Math.sin(seq)
  return inspectionRecord({
    id: `${at.replace(/\D/g, '').slice(0, 14)}-${seq.toString(16).padStart(12, '0')}`,
    positive,
    scannedAt: at,
    inspectedAt: at,
    sha256: seq.toString(16).padStart(64, '0'),
    readings: {
      solidDensity: told(3.42 - 0.004 * scan, 0.03, 'D', 'solid-density@1'),
      riseWidth: told(38 + growth, 1.2, 'um', 'rise-width@1'),
      ...(scan === 0 ? {} : { edgeGrowth: told(growth, 1.1, 'um', 'edge-growth@1') }),
    },
  })
}

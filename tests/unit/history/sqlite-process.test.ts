import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import Database from 'libsql'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { SQLITE_MIGRATIONS } from '../../../src/history/sqlite-migrations.js'
import { openSqliteStore } from '../../../src/history/sqlite-store.js'
import type { ProcessEvent } from '../../../src/model/process.js'
import type { Reading } from '../../../src/model/reading.js'
import { inspectionRecord } from '../../support/inspection-record.js'

const HEAD: ProcessEvent = {
  on: '2026-03-02T00:00:00Z',
  kind: 'newHead',
  name: 'new head',
  printer: 'printer-1',
  stock: null,
  recordedAt: '2026-03-03T08:00:00Z',
}

const growth: Reading = {
  value: 1.5,
  unit: 'um',
  expanded: 0.8,
  bound: null,
  n: 12,
  parts: [],
  budget: [],
  method: 'edge-growth@1',
}

let folder: string
let file: string
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'burngate-process-'))
  file = join(folder, 'burngate.db')
})
afterEach(() => rm(folder, { recursive: true, force: true }))

describe('processStore', () => {
  it('keeps an event once and tells events by the day they count from', async () => {
    const store = await openSqliteStore(file)
    expect(await store.addEvent(HEAD)).toBe(true)
    expect(await store.addEvent({ ...HEAD, recordedAt: '2026-03-04T08:00:00Z' })).toBe(false)
    const early = {
      ...HEAD,
      on: '2026-01-05',
      kind: 'newBox',
      name: 'new box of film',
      printer: null,
      stock: 'stock-a',
    } as const
    expect(await store.addEvent(early)).toBe(true)
    expect(await store.events()).toEqual([early, HEAD])
    await store.add(inspectionRecord())
    await expect(store.addEvent({ ...HEAD, on: 'soon' })).rejects.toThrow('on must be an ISO 8601 time; got "soon"')
    await store.close()
    const raw = new Database(file)
    expect(() => raw.exec("UPDATE process_event SET name = 'x'")).toThrow(/append-only/)
    expect(() => raw.exec('DELETE FROM process_film')).toThrow(/append-only/)
    raw.close()
  })

  it('has the few numbers of each inspection, growth among them, by the day of the scan', async () => {
    const store = await openSqliteStore(file)
    const later = inspectionRecord({
      id: 'b',
      scannedAt: '2026-03-21T10:00:00Z',
      sha256: 'b'.repeat(64),
      standing: { kind: 'compared', baseline: { id: 'a', scannedAt: '2026-03-01T10:00:00Z' } },
      growth: {
        baseline: { id: 'a', scannedAt: '2026-03-01T10:00:00Z' },
        days: 20,
        edgeGrowth: growth,
        forecast: null,
        placement: {} as never,
        notes: [],
      },
      told: { printer: 'printer-1', mode: 'fine', stock: 'stock-b' },
    })
    await store.add(later)
    await store.add(
      inspectionRecord({ id: 'a', scannedAt: '2026-03-01T10:00:00Z', scanner: null, told: {}, readings: {} }),
    )
    const [a, b] = await store.processFilms()
    expect(a).toMatchObject({
      id: 'a',
      printer: null,
      mode: null,
      stock: null,
      scanner: null,
      standing: null,
      readings: {},
    })
    expect(b).toMatchObject({ id: 'b', printer: 'printer-1', mode: 'fine', stock: 'stock-b', scanner: 'flatbed-a' })
    expect(b).toMatchObject({ standing: 'compared', baseline: 'a', days: 20, artwork: null, positive: later.positive })
    expect(b!.readings).toEqual({
      solidDensity: { value: 3.42, expanded: 0.03, bound: null, method: 'solid-density@1' },
      edgeGrowth: { value: 1.5, expanded: 0.8, bound: null, method: 'edge-growth@1' },
    })
    await store.close()
  })

  it('takes up what an older burngate recorded', async () => {
    const old = await openSqliteStore(file, { migrations: SQLITE_MIGRATIONS.slice(0, 2) }).catch(error => error)
    // The store of today asks for tables of today; the shape of before is what counts here.
    expect(old).toBeInstanceOf(Error)
    const raw = new Database(file)
    raw.exec(
      `INSERT INTO inspection (id, positive, job_type, scanned_at, scanned_ms, inspected_at, inspected_ms, verdict, why, next, sha256)
       VALUES ('a', 'pier', 'bold', '2026-03-01', 0, '2026-03-01', 0, 'pass', '', '', 'aa')`,
    )
    raw.prepare('INSERT INTO inspection_record (seq, json) VALUES (1, ?)').run(JSON.stringify(inspectionRecord()))
    raw.close()
    const store = await openSqliteStore(file)
    expect(await store.processFilms()).toMatchObject([{ id: 'a', positive: 'pier', printer: 'printer-1' }])
    await store.close()
  })
})

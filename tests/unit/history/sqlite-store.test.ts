import { mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import Database from 'libsql'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { SQLITE_MIGRATIONS } from '../../../src/history/sqlite-migrations.js'
import { openSqliteStore, sqliteFault } from '../../../src/history/sqlite-store.js'
import { inspectionRecord } from '../../support/inspection-record.js'

/** Steps that this version ships. */
const SHIPPED = SQLITE_MIGRATIONS.length

let folder: string
let file: string
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'burngate-sqlite-'))
  file = join(folder, 'burngate.db')
})
afterEach(() => rm(folder, { recursive: true, force: true }))

const unusable = (said: RegExp) => ({
  problem: { code: 'DATABASE_UNUSABLE', what: expect.stringMatching(said), next: expect.any(String) },
})

describe('openSqliteStore', () => {
  it('keeps no write-ahead log beside the file and waits for the disk', async () => {
    const store = await openSqliteStore(file)
    await store.add(inspectionRecord())
    await store.close()
    const raw = new Database(file)
    expect(raw.prepare('PRAGMA journal_mode').get()).toMatchObject({ journal_mode: 'delete' })
    raw.close()
  })

  it('refuses changes and deletions in the database itself', async () => {
    const store = await openSqliteStore(file)
    await store.add(inspectionRecord())
    await store.close()
    const raw = new Database(file)
    for (const sql of [
      "UPDATE inspection SET verdict = 'pass'",
      'DELETE FROM inspection',
      "UPDATE inspection_record SET json = '{}'",
      'DELETE FROM inspection_record',
    ])
      expect(() => raw.exec(sql)).toThrow('the history is append-only')
    raw.close()
  })

  it.each([
    ['a text', Buffer.from('this is a shopping list, not a database. '.repeat(100))],
    ['a database cut in its first page', null],
  ])('calls %s unusable and leaves it as it was', async (_what, content) => {
    let bytes = content
    if (bytes === null) {
      const store = await openSqliteStore(file)
      await store.add(inspectionRecord())
      await store.close()
      bytes = (await readFile(file)).subarray(0, 1500)
    }
    await writeFile(file, bytes)
    await expect(openSqliteStore(file)).rejects.toMatchObject(unusable(/burngate\.db/))
    expect(await readFile(file)).toEqual(bytes)
  })

  it('finds damage in the middle of the file', async () => {
    const store = await openSqliteStore(file)
    for (let i = 0; i < 60; i++) await store.add(inspectionRecord({ id: `id-${i}`, positive: `P-${i}` }))
    await store.close()
    expect(await sqliteFault(file)).toBeNull()
    const bytes = await readFile(file)
    bytes.fill(0xa5, 4096 * 3, bytes.length - 100)
    await writeFile(file, bytes)
    const found = await sqliteFault(file).catch((error: unknown) => error)
    if (typeof found === 'string') expect(found).not.toBe('ok')
    else expect(found).toMatchObject(unusable(/./))
  })

  it('refuses a missing folder and a folder in place of the file', async () => {
    await expect(openSqliteStore(join(folder, 'none', 'x.db'))).rejects.toMatchObject(unusable(/there is no folder/))
    await mkdir(file)
    await expect(openSqliteStore(file)).rejects.toMatchObject(unusable(/is not a file/))
  })

  it("refuses another program's database and one of a newer burngate", async () => {
    const other = new Database(file)
    other.exec('CREATE TABLE orders (id TEXT)')
    other.close()
    await expect(openSqliteStore(file)).rejects.toMatchObject(unusable(/belongs to another program/))

    const newer = join(folder, 'newer.db')
    const next = { number: SHIPPED + 1, name: 'later', sql: 'CREATE TABLE later (x)' }
    await (await openSqliteStore(newer, { migrations: [...SQLITE_MIGRATIONS, next] })).close()
    await expect(openSqliteStore(newer)).rejects.toMatchObject(
      unusable(new RegExp(`written by a newer burngate: its shape is ${SHIPPED + 1}, this one knows ${SHIPPED}`)),
    )
  })

  it('applies only the steps that are missing, and refuses steps out of order', async () => {
    await (await openSqliteStore(file)).close()
    const second = { number: SHIPPED + 1, name: 'second', sql: 'CREATE TABLE second (x)' }
    await (await openSqliteStore(file, { migrations: [...SQLITE_MIGRATIONS, second] })).close()
    const renamed = { ...second, name: 'renamed' }
    await expect(openSqliteStore(file, { migrations: [...SQLITE_MIGRATIONS, renamed] })).rejects.toMatchObject(
      unusable(new RegExp(`step ${SHIPPED + 1} "second" where step ${SHIPPED + 1} "renamed" belongs`)),
    )
    await expect(
      openSqliteStore(file, { migrations: [...SQLITE_MIGRATIONS, { ...second, number: SHIPPED + 2 }] }),
    ).rejects.toThrow(`migration "second" must have number ${SHIPPED + 1}; got ${SHIPPED + 2}`)
  })

  it('leaves nothing of a step that fails half-way', async () => {
    await (await openSqliteStore(file)).close()
    const broken = { number: SHIPPED + 1, name: 'broken', sql: 'CREATE TABLE half (x); CREATE TABLE half (x)' }
    await expect(openSqliteStore(file, { migrations: [...SQLITE_MIGRATIONS, broken] })).rejects.toThrow()
    const raw = new Database(file)
    expect(raw.prepare("SELECT name FROM sqlite_master WHERE name = 'half'").all()).toEqual([])
    expect(raw.prepare('SELECT number FROM migration').all()).toHaveLength(SHIPPED)
    raw.close()
  })

  it('says busy, not damaged, when another program holds the lock', async () => {
    const store = await openSqliteStore(file, { busyTimeoutMs: 50 })
    const other = new Database(file)
    other.exec('BEGIN EXCLUSIVE')
    await expect(store.add(inspectionRecord())).rejects.toMatchObject({ problem: { code: 'DATABASE_BUSY' } })
    other.exec('ROLLBACK')
    expect(await store.add(inspectionRecord())).toBe(true)
    other.close()
    await store.close()
  })

  it('reads the board of 5000 positives with 12 scans each in under a second of work', async () => {
    await (await openSqliteStore(file)).close()
    const raw = new Database(file)
    raw.exec('BEGIN')
    raw.exec(`
      WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i < 59999)
      INSERT INTO inspection (id, positive, job_type, scanned_at, scanned_ms, inspected_at, inspected_ms, verdict, why, next, sha256)
      SELECT 'id-' || i, 'JOB-' || (i % 5000) || ' front', 'fine-line', '2026-03-01T10:22:00Z', 1772000000000 + (i / 5000) * 86400000,
             '2026-03-01T10:22:00Z', 1772000000000 + i, 'pass', 'Solid density is 3.42 +/- 0.03 D, inside its limit of 3.0 D.', '',
             printf('%064d', i) FROM n;
      INSERT INTO inspection_record (seq, json) SELECT seq, '{"id":"' || id || '","pad":"' || hex(zeroblob(2000)) || '"}' FROM inspection;
    `)
    raw.exec('COMMIT')
    raw.close()
    const store = await openSqliteStore(file)
    // Work, not the clock: other programs may have the machine meanwhile.
    const begun = process.cpuUsage()
    const rows = await store.board()
    const { user, system } = process.cpuUsage(begun)
    const took = (user + system) / 1000
    await store.close()
    expect(rows).toHaveLength(5000)
    expect(rows[0]).toMatchObject({ id: 'id-59999', earlier: 11 })
    expect(took).toBeLessThan(1000)
    console.info(`board of 5000 positives x 12 scans: ${took.toFixed(0)} ms`)
  })
})

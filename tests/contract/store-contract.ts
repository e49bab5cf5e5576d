import { afterEach, describe, expect, it } from 'vitest'
import type { Inspection } from '../../src/model/inspection.js'
import type { Store } from '../../src/model/store.js'
import { inspectionRecord } from '../support/inspection-record.js'

/** A place where stores are opened: the same history each time, until it is removed. */
export interface StorePlace {
  open(): Promise<Store>
  remove(): Promise<void>
}

/** What every store must keep, run against real databases: one line in a test file for each kind of store. */
export function storeContract(name: string, makePlace: () => Promise<StorePlace>): void {
  describe(`${name} keeps the store's contract`, () => {
    const cleanUps: (() => Promise<void>)[] = []
    afterEach(async () => {
      for (const cleanUp of cleanUps.splice(0).reverse()) await cleanUp()
    })
    const place = async (): Promise<StorePlace> => {
      const made = await makePlace()
      cleanUps.push(() => made.remove())
      return made
    }
    const store = async (at?: StorePlace): Promise<Store> => {
      const opened = await (at ?? (await place())).open()
      cleanUps.push(() => opened.close())
      return opened
    }

    it('gives an inspection back exactly as it was added', async () => {
      const history = await store()
      const inspection = inspectionRecord({
        positive: 'Fähre 3 – "links"; DROP TABLE',
        notes: ['é 漢 \u{1f3a8} \\ \' " %'],
      })
      expect(await history.add(inspection)).toBe(true)
      expect(await history.byId(inspection.id)).toEqual(inspection)
      expect(await history.byPositive(inspection.positive)).toEqual([inspection])
    })

    it('answers null, and empty lists, for what it does not hold', async () => {
      const history = await store()
      expect(await history.byId('none')).toBeNull()
      expect(await history.byScan('a'.repeat(64), 'none')).toBeNull()
      expect(await history.lastJobType('none')).toBeNull()
      expect(await history.byPositive('none')).toEqual([])
      expect(await history.board()).toEqual([])
      expect(await listed(history)).toEqual([])
    })

    it('adding the same id twice changes nothing and says so', async () => {
      const history = await store()
      const first = inspectionRecord()
      expect(await history.add(first)).toBe(true)
      expect(await history.add({ ...first, verdict: 'fail' })).toBe(false)
      expect(await history.byId(first.id)).toEqual(first)
      expect((await history.board())[0]!.verdict).toBe('pass')
      expect(await listed(history)).toHaveLength(1)
    })

    it('lists a positive oldest first by when it was scanned, across time zones, whatever the order of adding', async () => {
      const history = await store()
      const at = (id: string, scannedAt: string, inspectedAt = '2026-04-01T00:00:00.000Z') =>
        inspectionRecord({ id, scannedAt, inspectedAt })
      const third = at('c', '2026-03-01T12:00:00+01:00')
      const first = at('a', '2026-03-01T10:00:00Z')
      const second = at('b', '2026-03-01T12:30:00+02:00')
      const again = at('d', '2026-03-01T11:00:00Z', '2026-04-02T00:00:00.000Z')
      for (const inspection of [third, again, first, second]) await history.add(inspection)
      expect((await history.byPositive(first.positive)).map(i => i.id)).toEqual(['a', 'b', 'c', 'd'])
    })

    it('finds an inspection by the content of its scan and its positive, the newest added of several', async () => {
      const history = await store()
      const sha256 = 'b'.repeat(64)
      await history.add(inspectionRecord({ id: 'other', sha256: 'c'.repeat(64) }))
      await history.add(inspectionRecord({ id: 'old', sha256 }))
      await history.add(inspectionRecord({ id: 'new', sha256, jobType: 'bold' }))
      await history.add(inspectionRecord({ id: 'twin', sha256, positive: 'HARBOR-18' }))
      expect((await history.byScan(sha256, 'HARBOR-17 front'))?.id).toBe('new')
      expect((await history.byScan(sha256, 'HARBOR-18'))?.id).toBe('twin')
      expect(await history.byScan(sha256, 'HARBOR-19')).toBeNull()
    })

    it("remembers the job type of a positive's newest scan", async () => {
      const history = await store()
      await history.add(inspectionRecord({ id: 'b', scannedAt: '2026-03-02T00:00:00Z', jobType: 'halftone' }))
      await history.add(inspectionRecord({ id: 'a', scannedAt: '2026-03-01T00:00:00Z', jobType: 'bold' }))
      expect(await history.lastJobType('HARBOR-17 front')).toBe('halftone')
    })

    it('shows each positive once on the board: its newest scan, its worst reason, how many came before', async () => {
      const history = await store()
      const fail = {
        reading: 'riseWidth',
        verdict: 'fail',
        limit: { max: 60 },
        why: 'too soft',
        next: 'reprint',
      } as const
      await history.add(
        inspectionRecord({ id: 'a2', scannedAt: '2026-03-20T00:00:00Z', verdict: 'fail', findings: [fail] }),
      )
      await history.add(inspectionRecord({ id: 'a1', scannedAt: '2026-03-01T00:00:00Z' }))
      await history.add(inspectionRecord({ id: 'b1', positive: 'B', scannedAt: '2026-03-10T00:00:00Z', findings: [] }))
      expect(await history.board()).toEqual([
        {
          id: 'a2',
          positive: 'HARBOR-17 front',
          jobType: 'fine-line',
          scannedAt: '2026-03-20T00:00:00Z',
          inspectedAt: '2026-03-01T10:23:00.000Z',
          verdict: 'fail',
          why: 'too soft',
          next: 'reprint',
          earlier: 1,
        },
        expect.objectContaining({ id: 'b1', positive: 'B', why: '', next: '', earlier: 0 }),
      ])
    })

    it('hands out everything in the order it was added, over more than one page, while more is added', async () => {
      const history = await store()
      const ids = Array.from({ length: 220 }, (_, i) => `id-${i}`)
      for (const id of ids.slice(0, 219)) await history.add(inspectionRecord({ id, positive: `P-${id}` }))
      const seen: string[] = []
      for await (const inspection of history.all()) {
        if (seen.push(inspection.id) === 150) await history.add(inspectionRecord({ id: 'id-219', positive: 'late' }))
      }
      expect(seen).toEqual(ids)
    })

    it('is the same history when opened again, and by two at once', async () => {
      const at = await place()
      const first = await store(at)
      await first.add(inspectionRecord({ id: 'a' }))
      const second = await store(at)
      expect(await second.add(inspectionRecord({ id: 'b' }))).toBe(true)
      expect(await first.add(inspectionRecord({ id: 'b' }))).toBe(false)
      await first.close()
      await first.close()
      const third = await store(at)
      expect((await listed(third)).map(i => i.id)).toEqual(['a', 'b'])
    })

    it('refuses a record whose time is no time, and holds nothing of it', async () => {
      const history = await store()
      await expect(history.add(inspectionRecord({ scannedAt: 'yesterday' }))).rejects.toThrow(
        'scannedAt must be an ISO 8601 time; got "yesterday"',
      )
      expect(await listed(history)).toEqual([])
    })
  })
}

async function listed(store: Store): Promise<readonly Inspection[]> {
  const all: Inspection[] = []
  for await (const inspection of store.all()) all.push(inspection)
  return all
}

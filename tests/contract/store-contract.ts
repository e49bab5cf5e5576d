import { afterEach, describe, expect, it } from 'vitest'
import type { Acceptance } from '../../src/model/acceptance.js'
import type { Growth } from '../../src/model/growth.js'
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

    const failed = (change: Parameters<typeof inspectionRecord>[0] = {}) =>
      inspectionRecord({ id: 'f', verdict: 'fail', ...change })
    const word = (change: Partial<Acceptance> = {}): Acceptance => ({
      inspection: 'f',
      verdict: 'fail',
      by: 'R. "Mo" O\'Example',
      because: '=SUM(1); – é 漢',
      at: '2026-03-02T08:00:00.000Z',
      ...change,
    })

    it("keeps a person's word beside the verdict, which stays; the newest stands on the board", async () => {
      const history = await store()
      await history.add(failed())
      await history.add(inspectionRecord({ id: 'other', positive: 'B', verdict: 'recheck' }))
      expect(await history.acceptancesOf('HARBOR-17 front')).toEqual([])
      expect(await history.accept(word())).toBe(true)
      expect(await history.accept(word({ by: 'Second' }))).toBe(true)
      expect(await history.accept(word({ inspection: 'other', verdict: 'recheck' }))).toBe(true)
      expect(await history.acceptancesOf('HARBOR-17 front')).toEqual([word(), word({ by: 'Second' })])
      expect((await history.acceptances()).map(a => a.inspection)).toEqual(['f', 'f', 'other'])
      expect(await history.byId('f')).toEqual(failed())
      const board = await history.board()
      expect(board.find(row => row.id === 'f')).toMatchObject({ verdict: 'fail', accepted: word({ by: 'Second' }) })
    })

    it('the same word again changes nothing and says so', async () => {
      const history = await store()
      await history.add(failed())
      await history.accept(word())
      expect(await history.accept(word({ at: '2026-05-01T00:00:00Z' }))).toBe(false)
      expect(await history.acceptances()).toEqual([word()])
      expect((await history.checkChain()).rows).toBe(2)
    })

    it.each([
      ['an inspection that is not there', { inspection: 'none' }, 'for none, which is not there'],
      ['another verdict than the record says', { verdict: 'recheck' as const }, 'for f, which says fail'],
      ['a name of spaces', { by: '  ' }, 'must have a name and a reason'],
      ['no reason', { because: '' }, 'must have a name and a reason'],
      ['a time that is none', { at: 'today' }, 'at must be an ISO 8601 time'],
    ])('refuses an acceptance of %s and holds nothing of it', async (_what, change, says) => {
      const history = await store()
      await history.add(failed())
      await expect(history.accept(word(change))).rejects.toThrow(says)
      expect(await history.acceptances()).toEqual([])
      expect(await history.checkChain()).toMatchObject({ rows: 1, faultCount: 0 })
    })

    it('tells of each stored positive its newest look, forecast, reprint and what replaces it', async () => {
      const history = await store()
      const forecast = {
        reaches: 'edgeGrowth',
        on: '2026-08-01T00:00:00Z',
        earliest: '2026-07-01T00:00:00Z',
        latest: null,
      } as const
      const growth = { baseline: { id: 'a1', scannedAt: '2026-01-01T00:00:00Z' }, days: 59, forecast } as Growth
      const scan = (id: string, positive: string, scannedAt: string, change: Partial<Omit<Inspection, 'scan'>> = {}) =>
        history.add(inspectionRecord({ id, positive, scannedAt, ...change }))
      await scan('a1', 'A', '2026-01-01T00:00:00Z')
      await scan('a2', 'A', '2026-03-01T00:00:00Z', { growth, verdict: 'recheck' })
      // Neither another film nor a wrong clock is a look at this one.
      await scan('a3', 'A', '2026-04-01T00:00:00Z', {
        standing: { kind: 'apart', baseline: null, because: 'notSameFilm' },
      })
      await scan('a4', 'A', '2036-04-01T00:00:00Z', {
        standing: { kind: 'apart', baseline: null, because: 'futureScan' },
      })
      await history.accept(word({ inspection: 'a2', verdict: 'recheck' }))
      await scan('b1', 'B', '2026-01-05T00:00:00Z')
      await scan('b2', 'B', '2026-02-05T00:00:00Z', { standing: { kind: 'baseline', reprint: true } })
      await scan('c1', 'C', '2026-02-06T00:00:00Z', { told: { replaces: 'B' } })
      await scan('d1', 'D', '2026-02-06T00:00:00Z', {
        standing: { kind: 'baseline', reprint: true },
        told: { replaces: 'D' },
      })
      const plain = {
        jobType: 'fine-line',
        verdict: 'pass',
        accepted: false,
        forecast: null,
        reprintedAt: null,
        replacedBy: null,
        retired: null,
        olderRetired: false,
        uses: 0,
      }
      expect(await history.stored()).toEqual([
        {
          ...plain,
          positive: 'A',
          id: 'a2',
          scannedAt: '2026-03-01T00:00:00Z',
          verdict: 'recheck',
          accepted: true,
          forecast,
        },
        {
          ...plain,
          positive: 'B',
          id: 'b2',
          scannedAt: '2026-02-05T00:00:00Z',
          reprintedAt: '2026-02-05T00:00:00Z',
          replacedBy: { positive: 'C', scannedAt: '2026-02-06T00:00:00Z' },
        },
        { ...plain, positive: 'C', id: 'c1', scannedAt: '2026-02-06T00:00:00Z' },
        // Nothing of it was known before its reprint, and nothing replaces itself.
        { ...plain, positive: 'D', id: 'd1', scannedAt: '2026-02-06T00:00:00Z' },
      ])
    })

    it('a positive printed anew after another took its place is not overtaken by that', async () => {
      const history = await store()
      await history.add(inspectionRecord({ id: 'b1', positive: 'B', scannedAt: '2026-01-05T00:00:00Z' }))
      await history.add(
        inspectionRecord({ id: 'c1', positive: 'C', scannedAt: '2026-02-01T00:00:00Z', told: { replaces: 'B' } }),
      )
      await history.add(
        inspectionRecord({
          id: 'b2',
          positive: 'B',
          scannedAt: '2026-03-01T00:00:00Z',
          standing: { kind: 'baseline', reprint: true },
        }),
      )
      expect((await history.stored())[0]).toMatchObject({ reprintedAt: '2026-03-01T00:00:00Z', replacedBy: null })
    })

    it('knows which films were taken out, until a later scan brings them back', async () => {
      const history = await store()
      const out = { because: 'shredded', by: null, at: '2026-03-02T00:00:00Z' }
      await history.add(inspectionRecord({ id: 'a1', positive: 'A', scannedAt: '2026-01-05T00:00:00Z' }))
      await history.retire({ positive: 'A', prints: 'all', ...out })
      await history.retire({ positive: 'nobody knows it', prints: 'all', ...out })
      expect((await history.stored()).map(film => [film.positive, film.retired])).toEqual([['A', out]])
      await history.add(inspectionRecord({ id: 'a2', positive: 'A', scannedAt: '2026-03-02T00:00:01Z' }))
      expect((await history.stored())[0]).toMatchObject({ id: 'a2', retired: null, olderRetired: false })
      await history.add(
        inspectionRecord({
          id: 'a3',
          positive: 'A',
          scannedAt: '2026-04-01T00:00:00Z',
          standing: { kind: 'baseline', reprint: true },
        }),
      )
      expect((await history.stored())[0]).toMatchObject({ retired: null, olderRetired: false })
      await history.retire({ positive: 'A', prints: 'older', ...out, by: 'Lee', at: '2026-04-02T00:00:00Z' })
      expect((await history.stored())[0]).toMatchObject({ retired: null, olderRetired: true })
      expect((await history.retirementsOf('A')).map(one => [one.prints, one.by])).toEqual([
        ['all', null],
        ['older', 'Lee'],
      ])
      await expect(history.retire({ positive: 'A', prints: 'all', ...out, because: ' ' })).rejects.toThrow(
        'for a reason',
      )
      await expect(history.retire({ positive: 'A', prints: 'all', ...out, at: 'soon' })).rejects.toThrow('ISO 8601')
      expect(await history.checkChain()).toMatchObject({ rows: 6, faultCount: 0 })
    })

    it('counts uses, those of the newest print beside all of them, and keeps them in the chain', async () => {
      const history = await store()
      await history.add(inspectionRecord({ id: 'a1', positive: 'A', scannedAt: '2026-01-05T00:00:00Z' }))
      const use = { positive: 'A', times: 3, by: null, at: '2026-01-06T00:00:00.000Z' }
      await history.use(use)
      await history.use({ ...use, times: 1, by: 'Lee', at: '2026-03-02T00:00:00.000Z' })
      await history.use({ ...use, positive: 'nobody knows it' })
      expect((await history.stored()).map(film => film.uses)).toEqual([4])
      expect(await history.usesOf('A')).toEqual([use, { ...use, times: 1, by: 'Lee', at: '2026-03-02T00:00:00.000Z' }])
      expect(await history.uses()).toHaveLength(3)
      await history.add(
        inspectionRecord({
          id: 'a2',
          positive: 'A',
          scannedAt: '2026-02-01T00:00:00Z',
          standing: { kind: 'baseline', reprint: true },
        }),
      )
      expect((await history.stored())[0]!.uses).toBe(1)
      await expect(history.use({ ...use, times: 0 })).rejects.toThrow('whole number of 1 or more; got 0')
      await expect(history.use({ ...use, at: 'soon' })).rejects.toThrow('ISO 8601')
      expect(await history.checkChain()).toMatchObject({ rows: 5, faultCount: 0 })
    })

    it('has every row in an unbroken chain, whose head depends on all of them', async () => {
      const at = await place()
      const history = await store(at)
      const empty = await history.checkChain()
      expect(empty).toEqual({ rows: 0, head: '0'.repeat(64), faults: [], faultCount: 0 })
      await history.add(failed())
      await history.add(failed())
      const one = await history.checkChain()
      await history.accept(word())
      const two = await (await store(at)).checkChain()
      expect([one.rows, two.rows, two.faultCount]).toEqual([1, 2, 0])
      expect(new Set([empty.head, one.head, two.head]).size).toBe(3)
      expect(two.head).toMatch(/^[0-9a-f]{64}$/)
      const other = await store()
      await other.add(failed({ tookMs: 1201 }))
      expect((await other.checkChain()).head).not.toBe(one.head)
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

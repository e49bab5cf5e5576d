import { appendFileSync, mkdirSync, readdirSync, readFileSync, renameSync, statSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { checkWhole } from '../../../src/decode/check-whole.js'
import { openScan } from '../../../src/decode/open-scan.js'
import type { ScanArrival } from '../../../src/model/arrival.js'
import { ProblemError } from '../../../src/model/problem.js'
import { intoWorkspace } from '../../../src/pipeline/inspect-into-workspace.js'
import { bracketFromFileName } from '../../../src/settings/bracket-name.js'
import { parseSidecar } from '../../../src/settings/sidecar-settings.js'
import { openJournal } from '../../../src/watch/journal.js'
import { type WatchContext, type WatchEvent, watchInbox } from '../../../src/watch/watch-inbox.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'
import { standInScan } from '../../support/stand-in-measure.js'
import { workspaceContext } from '../../support/workspace-context.js'

let folder: ScanFolder
const cleanUps: (() => Promise<unknown>)[] = []
beforeEach(() => {
  folder = scanFolder()
  mkdirSync(join(folder.path, 'inbox'))
})
afterEach(async () => {
  for (const cleanUp of cleanUps.splice(0).reverse()) await cleanUp()
  folder.remove()
})

const QUICK = { settleSeconds: 0.15, sidecarWaitSeconds: 0, bracketWaitSeconds: 0.6, usePolling: false, workers: 2 }

/** Watches the test's folder with the real disk, database and decoder. */
async function watching(change: Partial<WatchContext> = {}) {
  const context = await workspaceContext(folder.path)
  const journal = await openJournal(context.paths.journal)
  const events: WatchEvent[] = []
  const arrivals: ScanArrival[] = []
  const stop = new AbortController()
  const inspect = intoWorkspace(context)
  const done = watchInbox({
    inbox: context.paths.inbox,
    rejected: context.paths.rejected,
    site: QUICK,
    journal,
    inspect: arrival => {
      arrivals.push(arrival)
      return inspect(arrival, { skipKnown: true, mayLink: true })
    },
    checkWhole: async file => {
      const scan = await openScan(file, { channel: 'grey', tempDir: context.temporary })
      try {
        checkWhole(scan)
      } finally {
        scan.close()
      }
      return null
    },
    forget: () => {},
    readLadder: async () => null,
    readSidecar: parseSidecar,
    bracketName: bracketFromFileName,
    now: context.now,
    tick: () => performance.now(),
    tell: event => events.push(event),
    beat: async () => true,
    stop: stop.signal,
    once: true,
    ...change,
  })
  cleanUps.push(async () => {
    stop.abort()
    await done.catch(() => {})
    await journal.close()
    await context.store.close()
  })
  const until = async (fits: (event: WatchEvent) => boolean, count = 1) => {
    await expect.poll(() => events.filter(fits).length, { timeout: 20_000, interval: 20 }).toBeGreaterThanOrEqual(count)
    return events.filter(fits)
  }
  return { context, events, arrivals, done, stop, until }
}
const put = (name: string, bytes: Uint8Array | string) => folder.put(`inbox/${name}`, bytes)
const inboxFiles = () => readdirSync(join(folder.path, 'inbox'), { recursive: true }).map(String).sort()
const inspected = (event: WatchEvent) => event.kind === 'inspected'
const rejected = (event: WatchEvent) => event.kind === 'rejected'

describe('watchInbox, once', () => {
  it('works off what is there: scans with sidecars and job types, wrong files, leaves litter', async () => {
    mkdirSync(join(folder.path, 'inbox', 'bold'))
    put('a.tif', standInScan(3.4, 1))
    put('a.tif.yaml', 'positive: HARBOR-9\nstock: stock-a\n')
    put('bold/b.tif', standInScan(2.7, 2))
    put('c.tif', standInScan(2.7, 3))
    put('shopping.txt', 'milk, eggs, emulsion')
    put('cut.tif', standInScan(3.4, 4).subarray(0, 300))
    put('empty.tif', '')
    put('.~half.tif', 'x')
    const { events, done, context } = await watching()
    await done
    expect(
      events
        .flatMap(e =>
          e.kind === 'inspected' ? [[e.file, e.outcome.inspection.positive, e.outcome.inspection.verdict]] : [],
        )
        .sort(),
    ).toEqual([
      ['a.tif', 'HARBOR-9', 'pass'],
      ['bold/b.tif', 'b', 'pass'],
      ['c.tif', 'c', 'fail'],
    ])
    expect(events.flatMap(e => (e.kind === 'rejected' ? [[e.file, e.problem.code]] : [])).sort()).toEqual([
      ['cut.tif', 'SCAN_TRUNCATED'],
      ['empty.tif', 'FILE_EMPTY'],
      ['shopping.txt', 'NOT_A_SCAN'],
    ])
    expect(inboxFiles()).toEqual(['.~half.tif', 'bold'])
    expect(readdirSync(context.paths.rejected).sort()).toEqual(
      ['cut.tif', 'cut.tif.txt', 'empty.tif', 'empty.tif.txt', 'shopping.txt', 'shopping.txt.txt'].sort(),
    )
    expect(readFileSync(join(context.paths.rejected, 'shopping.txt.txt'), 'utf8')).toContain(
      'Save the scan as 16-bit TIFF.',
    )
  })

  it('does not inspect the same content twice, says so, and clears it away', async () => {
    put('a.tif', standInScan(3.4, 1))
    const first = await watching()
    await first.done
    put('a__again.tif', standInScan(3.4, 1))
    const second = await watching()
    await second.done
    expect(second.events.filter(inspected)).toMatchObject([{ outcome: { known: true }, resumed: false }])
    expect(inboxFiles()).toEqual([])
    expect((await second.context.store.board()).map(row => row.earlier)).toEqual([0])
  })

  it('rejects a scan with its sidecar when the sidecar is wrong', async () => {
    put('a.tif', standInScan(3.4, 1))
    put('a.tif.yaml', 'positiv: x\n')
    const { events, done, context } = await watching()
    await done
    expect(events.filter(rejected)).toMatchObject([{ file: 'a.tif', problem: { code: 'SIDECAR_INVALID' } }])
    expect(readdirSync(context.paths.rejected).sort()).toEqual(['a.tif', 'a.tif.txt', 'a.tif.yaml'])
    expect(inboxFiles()).toEqual([])
  })

  it('leaves scans in the inbox when the fault is not theirs, and when it is ours', async () => {
    put('a.tif', standInScan(3.4, 1))
    const held = await watching({
      inspect: async () => {
        throw new ProblemError('SETTINGS_INVALID', 'burngate.yaml line 3')
      },
    })
    await held.done
    expect(held.events.at(-1)).toMatchObject({ kind: 'held', file: 'a.tif', problem: { code: 'SETTINGS_INVALID' } })
    const full = await watching({
      inspect: async () => {
        throw Object.assign(new Error('ENOSPC'), { code: 'ENOSPC', syscall: 'write' })
      },
    })
    await full.done
    expect(full.events.at(-1)).toMatchObject({ kind: 'held', problem: { code: 'FILE_NOT_WRITABLE' } })
    const fault = await watching({
      inspect: async () => {
        throw new TypeError('undefined is not a film')
      },
    })
    await fault.done
    expect(fault.events.at(-1)).toMatchObject({ kind: 'fault', file: 'a.tif', error: expect.any(TypeError) })
    expect(inboxFiles()).toEqual(['a.tif'])
  })

  it('leaves a new scan that was dropped under the same name while the old one was inspected', async () => {
    const file = put('a.tif', standInScan(3.4, 1))
    const context = await workspaceContext(folder.path)
    cleanUps.push(() => context.store.close())
    const inspect = intoWorkspace(context)
    let swapped = false
    const { events, done } = await watching({
      inspect: async arrival => {
        const outcome = await inspect(arrival, { skipKnown: true, mayLink: false })
        if (!swapped) writeFileSync(file, standInScan(2.6, 2, { dateTime: '2025:03:04 11:30:00' }))
        swapped = true
        return outcome
      },
    })
    await done
    expect(events.filter(inspected)).toMatchObject([
      { outcome: { inspection: { verdict: 'pass' } } },
      { outcome: { inspection: { verdict: 'fail' } } },
    ])
    expect(inboxFiles()).toEqual([])
  })

  it('clears the sidecar that a crash left behind after its scan', async () => {
    put('a.tif.yaml', 'positive: OLD\n')
    put('b.tif.yaml', 'positive: OLD\n')
    const entry = { size: 1, mtimeMs: 1, at: '2026-03-01T00:00:00.000Z' }
    mkdirSync(join(folder.path, '.burngate'), { recursive: true })
    folder.put(
      '.burngate/journal.jsonl',
      [
        { ...entry, file: 'a.tif', sidecar: 'a.tif.yaml', state: 'recorded' },
        { ...entry, file: 'b.tif', sidecar: 'b.tif.yaml', state: 'taken' },
      ]
        .map(line => `${JSON.stringify(line)}\n`)
        .join(''),
    )
    const { events, done } = await watching()
    await done
    expect(inboxFiles()).toEqual(['b.tif.yaml'])
    expect(events).toMatchObject([
      { kind: 'note', text: 'b.tif was begun by an earlier run and is no longer in the inbox.' },
      { kind: 'note', text: expect.stringContaining('inbox/b.tif.yaml has no scan beside it') },
    ])
    const again = await openJournal(join(folder.path, '.burngate', 'journal.jsonl'))
    expect(again.unfinished).toEqual([])
    await again.close()
  })

  it('says that there is no inbox instead of waiting for one', async () => {
    const { events, done } = await watching({ inbox: join(folder.path, 'none') })
    await done
    expect(events).toEqual([{ kind: 'note', text: 'The inbox is not there; waiting until it is back.' }])
  })
})

describe('watchInbox, on and on', () => {
  it('waits for a scan that grows, pauses and grows on', async () => {
    const { events, until } = await watching({ once: false })
    const bytes = standInScan(3.4, 1, { dateTime: '2025:03:04 11:00:00' })
    const file = put('slow.tif', bytes.subarray(0, 100))
    for (const [from, to] of [
      [100, 200],
      [200, bytes.length],
    ] as const) {
      await new Promise(resolve => setTimeout(resolve, 400))
      expect(events.filter(e => e.kind !== 'note')).toEqual([])
      appendFileSync(file, bytes.subarray(from, to))
    }
    expect(await until(inspected)).toMatchObject([{ file: 'slow.tif', outcome: { inspection: { verdict: 'pass' } } }])
  })

  it('rejects a scan that stays cut short past its patience', async () => {
    put('cut.tif', standInScan(3.4, 1).subarray(0, 300))
    const { until, events } = await watching({ once: false, patienceSeconds: 1.5 })
    await new Promise(resolve => setTimeout(resolve, 700))
    expect(events).toEqual([])
    expect(await until(rejected)).toMatchObject([{ file: 'cut.tif', problem: { code: 'SCAN_TRUNCATED' } }])
  })

  it('waits for the sidecar as long as the site says, and takes it when it comes', async () => {
    const { until, events, arrivals } = await watching({ once: false, site: { ...QUICK, sidecarWaitSeconds: 2 } })
    put('a.tif', standInScan(3.4, 1))
    put('late.tif', standInScan(3.4, 2))
    await new Promise(resolve => setTimeout(resolve, 900))
    expect(events.map(e => (e.kind === 'note' ? e.text : e.kind))).toEqual([
      expect.stringMatching(/^(a|late)\.tif has come; it is inspected in 2 s, or when its sidecar comes\.$/),
      expect.stringMatching(/^(a|late)\.tif has come/),
    ])
    put('a.tif.yaml', 'positive: WITH-SIDECAR\n')
    await until(inspected, 2)
    expect(arrivals.map(a => a.sidecar?.facts.positive ?? null)).toEqual(['WITH-SIDECAR', null])
  })

  it('goes on when the inbox is taken away and made again', async () => {
    const { until } = await watching({ once: false })
    put('a.tif', standInScan(3.4, 1))
    await until(inspected)
    const inbox = join(folder.path, 'inbox')
    renameSync(inbox, join(folder.path, 'gone'))
    await until(e => e.kind === 'note' && e.text.startsWith('The inbox is not there'))
    mkdirSync(inbox)
    put('b.tif', standInScan(3.4, 2))
    expect(await until(inspected, 2)).toHaveLength(2)
  })

  it('works by the clock alone when asked to', async () => {
    const { until } = await watching({ once: false, site: { ...QUICK, usePolling: true } })
    await new Promise(resolve => setTimeout(resolve, 100))
    put('a.tif', standInScan(3.4, 1))
    expect(await until(inspected)).toHaveLength(1)
  })

  it('finishes the scan at hand when it is stopped, and leaves the rest', async () => {
    for (let i = 0; i < 4; i++) put(`${i}.tif`, standInScan(3.4, i))
    const context = await workspaceContext(folder.path)
    cleanUps.push(() => context.store.close())
    const inspect = intoWorkspace(context)
    const stop = new AbortController()
    const { done, events } = await watching({
      once: false,
      stop: stop.signal,
      site: { ...QUICK, workers: 1 },
      inspect: arrival => {
        stop.abort()
        return inspect(arrival, { skipKnown: true, mayLink: true })
      },
    })
    await done
    expect(events.filter(inspected)).toHaveLength(1)
    expect(inboxFiles()).toHaveLength(3)
  })

  it('stops when its lock was taken over', async () => {
    const { done } = await watching({ once: false, beat: async () => false })
    await expect(done).rejects.toMatchObject({ problem: { code: 'WORKSPACE_BUSY' } })
  })
})

describe('scans of a bracket in the inbox', () => {
  const all = ['F-1__bracket-1.tif', 'F-1__bracket-2.tif', 'F-1__bracket-3.tif']
  const dropAll = () => {
    for (const [i, name] of all.entries()) put(name, standInScan(3.4, i))
  }
  const archived = () =>
    readdirSync(join(folder.path, 'archive'), { recursive: true })
      .map(String)
      .filter(n => n.endsWith('.tif'))

  it('of one name are inspected once, as one positive, and all are archived', async () => {
    dropAll()
    const { done, events, arrivals, context } = await watching()
    await done
    expect(arrivals.map(a => [a.name, a.bracket?.map(b => b.name)])).toEqual([[all[0], all.slice(1)]])
    expect(events.filter(inspected)).toMatchObject([{ file: all[0], further: all.slice(1) }])
    const records = await context.store.byPositive('F-1')
    expect(records).toHaveLength(1)
    expect([records[0]!.scan.file, ...records[0]!.scan.bracket!.map(b => b.file)]).toEqual(all)
    expect(archived()).toHaveLength(3)
    expect(inboxFiles()).toEqual([])
  })

  it('are known by their sidecars as well, which speak for all of them', async () => {
    for (const name of ['long.tif', 'normal.tif']) {
      put(name, standInScan(3.4, name.length))
      put(`${name}.yaml`, name === 'long.tif' ? 'bracket: b-7\npositive: F-9\n' : 'bracket: B-7\nstock: stock-a\n')
    }
    const { done, context } = await watching()
    await done
    const records = await context.store.byPositive('F-9')
    expect(records).toMatchObject([{ told: { stock: 'stock-a' }, scan: { bracket: [{}] } }])
    expect(inboxFiles()).toEqual([])
  })

  it('are awaited: one that comes while the others rest belongs to them; a told number needs no waiting', async () => {
    const { until, arrivals } = await watching({ once: false, site: { ...QUICK, bracketWaitSeconds: 1 } })
    put(all[0]!, standInScan(3.4, 0))
    await new Promise(resolve => setTimeout(resolve, 1500))
    put(all[1]!, standInScan(3.4, 1))
    await until(inspected)
    expect(arrivals.map(a => a.bracket?.length)).toEqual([1])
    const begun = performance.now()
    put('G__bracket-1of2.tif', standInScan(3.4, 7))
    put('G__bracket-2of2.tif', standInScan(3.4, 8))
    await until(inspected, 2)
    expect(performance.now() - begun).toBeLessThan(1000)
  })

  it('go to rejected/ together, each with the reason: one alone, one twice, one cut short, two positives', async () => {
    put('A__bracket-1.tif', standInScan(3.4, 1))
    put('B__bracket-1.tif', standInScan(3.4, 2))
    put('B__bracket-2.tif', standInScan(3.4, 2))
    put('C__bracket-1.tif', standInScan(3.4, 3))
    put('C__bracket-2.tif', standInScan(3.4, 4).subarray(0, 400))
    for (const n of [1, 2]) {
      put(`D__bracket-${n}.tif`, standInScan(3.4, 4 + n))
      put(`D__bracket-${n}.tif.yaml`, `positive: D-${n}\n`)
    }
    const { done, events, context } = await watching()
    await done
    const codes = events.flatMap(e => (e.kind === 'rejected' ? [`${e.file.slice(0, 1)} ${e.problem.code}`] : []))
    expect(codes.sort()).toEqual([
      'A BRACKET_ONE_SCAN',
      'B BRACKET_SAME_EXPOSURE',
      'B BRACKET_SAME_EXPOSURE',
      'C SCAN_TRUNCATED',
      'C SCAN_TRUNCATED',
      'D BRACKET_FILMS_DIFFER',
      'D BRACKET_FILMS_DIFFER',
    ])
    expect(await context.store.board()).toEqual([])
    expect(inboxFiles()).toEqual([])
    const kept = readdirSync(join(folder.path, 'rejected'))
    expect(kept.filter(n => n.endsWith('.tif'))).toHaveLength(7)
    expect(kept.filter(n => n.endsWith('.txt'))).toHaveLength(7)
    expect(readFileSync(join(folder.path, 'rejected', 'C__bracket-1.tif.txt'), 'utf8')).toContain(
      'C__bracket-2.tif: the file is cut short',
    )
  })

  it('that a crash left behind, recorded or rejected, go the way the others went', async () => {
    put(all[2]!, standInScan(3.4, 2))
    put('E__bracket-2.tif', standInScan(3.4, 3))
    const context = await workspaceContext(folder.path)
    const journal = await openJournal(context.paths.journal)
    const left = async (file: string, state: 'recorded' | 'rejected') => {
      const { size, mtimeMs } = statSync(join(folder.path, 'inbox', file))
      const reason = { code: 'BRACKET_CLIPPED', what: 'a', next: 'b' } as const
      const entry = { file, size, mtimeMs, sidecar: null, state, at: '', bracket: 'first' }
      await journal.write(state === 'rejected' ? { ...entry, problem: reason } : entry)
    }
    await left(all[2]!, 'recorded')
    await left('E__bracket-2.tif', 'rejected')
    await journal.close()
    await context.store.close()
    const { done, events } = await watching()
    await done
    expect(events.map(e => [e.kind, 'file' in e ? e.file : ''])).toEqual([['rejected', 'E__bracket-2.tif']])
    expect(inboxFiles()).toEqual([])
    expect(readdirSync(join(folder.path, 'rejected')).sort()).toEqual(['E__bracket-2.tif', 'E__bracket-2.tif.txt'])
  })
})

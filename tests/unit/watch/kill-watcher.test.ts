import { type ChildProcess, spawn } from 'node:child_process'
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { fileURLToPath } from 'node:url'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { openSqliteStore } from '../../../src/history/sqlite-store.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'
import { standInScan } from '../../support/stand-in-measure.js'

const ENTRY = fileURLToPath(new URL('../../support/watch-process.ts', import.meta.url))
const SCANS = 24
const KILLS = 5
/** Scans of an ink ladder, and brackets of three scans, beside them. */
const LEVELS = [2, 4, 6, 8]
const BRACKETS = 4

let folder: ScanFolder
let child: ChildProcess | null = null
beforeEach(() => {
  folder = scanFolder()
})
afterEach(() => {
  child?.kill('SIGKILL')
  folder.remove()
})

interface Run {
  readonly events: { kind: string; file?: string }[]
  readonly ended: Promise<number | null>
  readonly ready: Promise<void>
}

function run(mode: 'once' | 'watch'): Run {
  const events: Run['events'] = []
  const process_ = spawn(process.execPath, ['--import', 'tsx', ENTRY, folder.path, mode], {
    stdio: ['ignore', 'pipe', 'inherit'],
  })
  child = process_
  const ended = new Promise<number | null>(resolve => process_.on('close', code => resolve(code)))
  const ready = new Promise<void>(resolve => {
    createInterface({ input: process_.stdout! }).on('line', line => {
      const event = JSON.parse(line)
      if (event.kind === 'ready') resolve()
      else events.push(event)
    })
  })
  return { events, ended, ready: Promise.race([ready, ended.then(() => {})]) }
}

describe('a watcher that is killed', () => {
  it(`inspects every scan exactly once, whenever it dies (${KILLS} kills over ${SCANS} scans)`, async () => {
    const inbox = join(folder.path, 'inbox')
    mkdirSync(inbox)
    for (let i = 0; i < SCANS; i++) {
      writeFileSync(join(inbox, `P-${i}__1.tif`), standInScan(i % 3 === 0 ? 2.5 : 3.4, i))
      if (i % 2 === 0) writeFileSync(join(inbox, `P-${i}__1.tif.yaml`), `positive: SIDE-${i}\n`)
    }
    for (let i = 0; i < BRACKETS; i++)
      for (const n of [1, 2, 3])
        writeFileSync(join(inbox, `B-${i}__bracket-${n}of3.tif`), standInScan(3.4, 100 + 3 * i + n))
    mkdirSync(join(inbox, 'ladder'))
    writeFileSync(
      join(inbox, 'ladder', 'plan.yaml'),
      `name: spring\njobType: fine-line\nstocks: [stock-a]\nlevels: [${LEVELS}]\nmodes: [{ name: fast, dpi: [720, 720], directions: 2, minutes: 1 }]\n`,
    )
    for (const level of LEVELS)
      writeFileSync(join(inbox, 'ladder', `stock-a__fast__${level}.tif`), standInScan(2.5 + level / 8, 200 + level))
    let cutWhileWorking = 0
    for (let kill = 0; kill < KILLS; kill++) {
      const { events, ended, ready } = run('watch')
      await ready
      // From before the first scan is at rest to after some are done; a fixed spread, so that a failure comes again.
      await new Promise(resolve => setTimeout(resolve, 90 + ((kill * 137) % 500)))
      child!.kill('SIGKILL')
      await ended
      const begun = events.filter(e => e.kind === 'begun').length
      if (begun > events.filter(e => e.kind === 'inspected').length) cutWhileWorking++
    }
    const last = run('once')
    expect(await last.ended).toBe(0)
    expect(last.events.filter(e => ['rejected', 'held', 'fault'].includes(e.kind))).toEqual([])

    const store = await openSqliteStore(join(folder.path, 'burngate.db'))
    const positives: string[] = []
    for await (const inspection of store.all()) positives.push(inspection.positive)
    await store.close()
    expect(positives.sort()).toEqual(
      [
        ...Array.from({ length: SCANS }, (_, i) => (i % 2 === 0 ? `SIDE-${i}` : `P-${i}`)),
        ...Array.from({ length: BRACKETS }, (_, i) => `B-${i}`),
      ].sort(),
    )
    // The plan stays.
    expect(readdirSync(inbox)).toEqual(['ladder'])
    expect(readdirSync(join(inbox, 'ladder'))).toEqual(['plan.yaml'])
    const ladder = readdirSync(join(folder.path, 'reports')).filter(name => /^ladder__.*json$/.test(name))
    const told = JSON.parse(readFileSync(join(folder.path, 'reports', ladder.at(-1)!), 'utf8'))
    expect(told.combinations.map((c: { level: number; samples: object[] }) => [c.level, c.samples.length])).toEqual(
      LEVELS.map(level => [level, 1]),
    )
    expect(told.unread).toEqual([])
    const reports = readdirSync(join(folder.path, 'reports'))
    expect(reports.filter(name => /^[^l].*__.*\.html$/.test(name))).toHaveLength(SCANS + BRACKETS)
    expect(reports.filter(name => /^[^l].*\.json$/.test(name))).toHaveLength(SCANS + BRACKETS)
    const archived = readdirSync(join(folder.path, 'archive'), { recursive: true }).map(String)
    expect(archived.filter(name => name.endsWith('.tif'))).toHaveLength(SCANS + 3 * BRACKETS + LEVELS.length)
    expect(existsSync(join(folder.path, '.burngate', 'watch.lock'))).toBe(false)
    expect(existsSync(join(folder.path, 'rejected'))).toBe(false)
    console.info(`killed ${KILLS} times, ${cutWhileWorking} times in the middle of an inspection`)
  })

  it('refuses to run beside another that lives', async () => {
    mkdirSync(join(folder.path, 'inbox'))
    const first = run('watch')
    const firstProcess = child!
    await first.ready
    const second = spawn(process.execPath, ['--import', 'tsx', ENTRY, folder.path, 'once'], { stdio: 'pipe' })
    let said = ''
    second.stderr.on('data', chunk => {
      said += chunk
    })
    const code = await new Promise(resolve => second.on('close', resolve))
    expect(code).not.toBe(0)
    expect(said).toContain('WORKSPACE_BUSY')
    firstProcess.kill('SIGTERM')
    expect(await first.ended).toBe(0)
    expect(existsSync(join(folder.path, '.burngate', 'watch.lock'))).toBe(false)
  })
})

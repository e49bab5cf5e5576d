import { mkdtemp, readFile, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { eventCommand } from '../../../src/commands/event.js'
import { processCommand } from '../../../src/commands/process.js'
import { openSqliteStore } from '../../../src/history/sqlite-store.js'
import { inspectionRecord } from '../../support/inspection-record.js'
import { program } from '../../support/program.js'

const NOW = new Date('2026-06-01T12:00:00Z')
const DAY_MS = 86_400_000

let folder: string
let shop: string
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'burngate-process-'))
  shop = join(folder, 'shop')
  await program(folder, NOW).app.initWorkspace(shop)
})
afterEach(() => rm(folder, { recursive: true, force: true }))

/** Films a day apart, of these solid densities; the first on 1 March. */
async function print(values: readonly number[]): Promise<void> {
  const store = await openSqliteStore(join(shop, 'burngate.db'))
  const { solidDensity } = inspectionRecord().readings
  for (let i = 0; i < values.length; i++)
    await store.add(
      inspectionRecord({
        id: `film-${i}`,
        positive: `pier-${i}`,
        scannedAt: new Date(Date.UTC(2026, 2, 1) + i * DAY_MS).toISOString(),
        sha256: `${i}`.padStart(64, '0'),
        standing: { kind: 'baseline', reprint: false },
        told: { printer: 'printer-1', mode: 'fine', stock: 'stock-a' },
        readings: { solidDensity: { ...solidDensity!, value: values[i]! } },
      }),
    )
  await store.close()
}

/** Steady about 3.40. */
const steady = (count: number) => Array.from({ length: count }, (_, i) => 3.4 + 0.01 * ((i * 7) % 5) - 0.02)

describe('burngate process', () => {
  it('names the rule and since when, on the terminal, on its page and on the board', async () => {
    await print([...steady(20), ...steady(10).map(value => value - 0.03)])
    const { app, said, out } = program(folder, NOW)
    expect(await processCommand({ workspace: shop }, app)).toBe(2)
    expect(said()).toContain(
      'SIGNAL Solid density, printer-1 / fine / stock-a: 9 or more films in a row on one side of the mean, low, since 2026-03-21 with pier-20 (10 films, to 2026-03-30).',
    )
    expect(out).toEqual([])
    const page = await readFile(join(shop, 'reports', 'process.html'), 'utf8')
    expect(page).toContain('Signal: side.')
    const board = await readFile(join(shop, 'reports', 'index.html'), 'utf8')
    expect(board).toContain('href="process.html#series-1"')
    expect(board).toContain('since 2026-03-21 with pier-20')
  })

  it('falls silent once the change is written down, and limits begin anew', async () => {
    await print([...steady(20), ...steady(10).map(value => value - 0.03)])
    const { app, said, json } = program(folder, NOW)
    const change = { workspace: shop, printer: 'printer-1', on: '2026-03-21' }
    expect(await eventCommand('new head', { ...change, json: true }, app)).toBe(0)
    expect(json()).toEqual([
      {
        schema: 'burngate/event@1',
        on: '2026-03-21T00:00:00.000Z',
        kind: 'newHead',
        name: 'new head',
        printer: 'printer-1',
        stock: null,
        recordedAt: NOW.toISOString(),
      },
    ])
    expect(said()).toContain('Written down: new head, printer-1, every stock, from 2026-03-21 00:00 UTC on.')
    expect(await eventCommand('new head', change, app)).toBe(0)
    expect(said()).toContain('Written down before: new head')
    expect(await processCommand({ workspace: shop, json: true }, app)).toBe(0)
    const [told] = json()
    expect(told.signals).toEqual([])
    expect(told.series[0]).toMatchObject({ reading: 'solidDensity', films: 30, printer: 'printer-1' })
    expect(told.series[0].segments.map((s: { films: number; reset: string }) => [s.films, s.reset])).toEqual([
      [20, null],
      [10, 'new head (2026-03-21)'],
    ])
    const board = await readFile(join(shop, 'reports', 'index.html'), 'utf8')
    expect(board).toContain('No open signal.')
  })

  it('asks about a printer it has never heard of, and refuses what cannot be', async () => {
    await print(steady(1))
    const { app, said } = program(folder, NOW)
    expect(await eventCommand('new ink', { workspace: shop, printer: 'printr-1' }, app)).toBe(0)
    expect(said()).toContain('No film in the history is of printer "printr-1" yet; did you mean "printer-1"?')
    expect(await eventCommand('new ink', { workspace: shop, on: '2026-02-30' }, app)).toBe(64)
    expect(said()).toContain('--on takes a date such as 2026-03-31, not "2026-02-30".')
    await expect(eventCommand('new ink', { workspace: shop, on: '2026-06-02' }, app)).rejects.toThrow(
      /EVENT_INVALID.*2026-06-02 is still to come/,
    )
    expect(await eventCommand('new ink', { workspace: shop, on: '2026-06-01' }, app)).toBe(0)
    await expect(eventCommand('  ', { workspace: shop }, app)).rejects.toThrow(/what happened is empty/)
    await expect(eventCommand('x'.repeat(121), { workspace: shop }, app)).rejects.toThrow(/has 121 characters/)
    expect(await eventCommand('x'.repeat(120), { workspace: shop }, app)).toBe(0)
  })

  it('says so when there is nothing to chart', async () => {
    const { app, said } = program(folder, NOW)
    expect(await processCommand({ workspace: shop }, app)).toBe(0)
    expect(said()).toContain('No films to chart yet.')
  })
})

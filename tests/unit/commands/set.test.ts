import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { setCommand } from '../../../src/commands/set.js'
import { openSqliteStore } from '../../../src/history/sqlite-store.js'
import type { Inspection } from '../../../src/model/inspection.js'
import { inspectionRecord } from '../../support/inspection-record.js'
import { program } from '../../support/program.js'

const NOW = new Date('2026-06-01T12:00:00Z')

let folder: string
let shop: string
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'burngate-set-'))
  shop = join(folder, 'shop')
  await program(folder, NOW).app.initWorkspace(shop)
})
afterEach(() => rm(folder, { recursive: true, force: true }))

async function keep(...inspections: Inspection[]): Promise<void> {
  const store = await openSqliteStore(join(shop, 'burngate.db'))
  for (const inspection of inspections) await store.add(inspection)
  await store.close()
}

/** A film that came out `across` wider than its separation of 80 x 60 mm. */
function laid(positive: string, across: number, change: Partial<Inspection> = {}): Inspection {
  const px = 1200 / 25.4
  const size = (value: number) => ({
    value: 100 * value,
    unit: '%' as const,
    expanded: 0.6,
    bound: null,
    n: 400,
    parts: [],
    budget: [
      { name: 'edges of the film', standard: 0.003 },
      { name: 'scanner’s pixel size (file’s resolution only)', standard: 0.29 },
      { name: 'film and humidity', standard: 0.004 },
    ],
    method: 'sizeErrorAcross@1',
  })
  const { readings } = inspectionRecord()
  return inspectionRecord({
    id: `of-${positive}`,
    positive,
    sha256: Buffer.from(positive).toString('hex').padEnd(64, '0').slice(0, 64),
    readings: { ...readings, sizeErrorAcross: size(across), sizeErrorFeed: size(0) },
    scanner: {
      name: 'flatbed-a',
      calibratedAt: '2026-02-01T08:00:00Z',
      deepest: 3.6,
      riseWidth: 32,
      tablet: 'tablet-1',
    },
    artwork: {
      file: `${positive}.tif`,
      sha256: 'b'.repeat(64),
      dpi: [720, 720],
      widthMm: 80,
      heightMm: 60,
      matches: true,
      likeness: 0.98,
      turned: 0,
      mirrored: false,
      scale: null,
      gainUm: null,
      residualUm: 5,
      onFilm: 1,
      map: { x0: 0, y0: 0, xx: px * (1 + across), yx: 0, xy: 0, yy: px },
      umPerPixel: { across: 25_400 / 1200, along: 25_400 / 1200 },
    },
    ...change,
  })
}

describe('burngate set', () => {
  it('holds the films of a job against each other, and leaves others alone', async () => {
    await keep(laid('regatta-red', 0), laid('regatta-blue', 0.001), laid('regatta.key', 0), laid('regattas', 0.1))
    const { app, said, json } = program(folder, NOW)
    expect(await setCommand(['regatta'], { workspace: shop, json: true }, app)).toBe(0)
    const [set] = json()
    expect(set).toMatchObject({ schema: 'burngate/set@1', job: 'regatta', limit: null, verdict: null, left: [] })
    expect(set.films.map((film: { positive: string }) => film.positive)).toEqual([
      'regatta-blue',
      'regatta-red',
      'regatta.key',
    ])
    // 0.1 % of half of 80 mm.
    expect(set.pairs[0].registerError.value).toBeCloseTo(40, 6)
    expect(set.pairs[0].registerError.expanded).toBeLessThan(10)
    expect(set.pairs[2]).toMatchObject({ films: ['regatta-red', 'regatta.key'], registerError: { value: 0 } })
    const words = said()
    expect(words).toContain('regatta-blue and regatta-red  40 ± 7 µm')
    expect(words).toContain('nothing is judged')
  })

  it.each([
    [30, 1, 'FAIL'],
    [45, 2, 'RECHECK'],
    [60, 0, 'PASS'],
  ])('holds them against the limit of their job type: %i um', async (limit, code, word) => {
    const file = join(shop, 'job-types', 'fine-line.yaml')
    const text = await readFile(file, 'utf8')
    await writeFile(file, text.replace(/^limits:.*$/m, `limits:\n  registerError: { max: ${limit} }`))
    await keep(laid('regatta-red', 0), laid('regatta-blue', 0.001))
    const { app, said } = program(folder, NOW)
    expect(await setCommand(['regatta-red', 'regatta-blue'], { workspace: shop }, app)).toBe(code)
    expect(said()).toContain(`${word}: the limit on register is ${limit} µm.`)
  })

  it('says of each film why it could not take part, and passes nothing then', async () => {
    const { artwork, ...without } = laid('regatta-white', 0)
    const { umPerPixel, ...older } = artwork!
    await keep(
      laid('regatta-red', 0),
      without,
      laid('regatta-gold', 0, { artwork: { ...artwork!, matches: false, map: null } }),
      laid('regatta-old', 0, { artwork: older }),
    )
    expect(umPerPixel).toBeDefined()
    const { app, said } = program(folder, NOW)
    expect(await setCommand(['regatta'], { workspace: shop }, app)).toBe(2)
    const words = said()
    expect(words).toContain('Left out: regatta-white, because its newest scan was inspected without its artwork.')
    expect(words).toContain('Left out: regatta-gold, because the artwork given is not this film’s.')
    expect(words).toContain('Left out: regatta-old, because it was inspected by an earlier version.')
    expect(words).toContain('There are no two films to hold against each other')
    await expect(setCommand(['regata'], { workspace: shop }, app)).rejects.toThrow(/INSPECTION_UNKNOWN/)
    await expect(setCommand(['regatta-red', 'nobody'], { workspace: shop }, app)).rejects.toThrow(
      /INSPECTION_UNKNOWN.*nobody/,
    )
  })
})

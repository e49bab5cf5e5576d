import { mkdtemp, readFile, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join, relative } from 'node:path'
import { afterEach, beforeEach, expect, it } from 'vitest'
import type { Inspection } from '../../../src/model/inspection.js'
import type { Reading } from '../../../src/model/reading.js'
import { type HistoryContext, writeHistory } from '../../../src/pipeline/write-history.js'
import { inspectionRecord } from '../../support/inspection-record.js'

let reports: string
beforeEach(async () => {
  reports = await mkdtemp(join(tmpdir(), 'burngate-history-'))
})
afterEach(() => rm(reports, { recursive: true, force: true }))

const reading = (value: number, expanded = 0.5): Reading => ({
  value,
  unit: 'um',
  expanded,
  bound: null,
  n: 8,
  parts: [],
  budget: [],
  method: 'edgeGrowth@1',
})

/** A first scan and one every 30 days after it, 2 um more each time. */
function life(scans: number): Inspection[] {
  const at = (i: number) => new Date(Date.UTC(2026, 0, 1) + i * 30 * 86_400_000).toISOString()
  return Array.from({ length: scans }, (_, i) =>
    inspectionRecord({
      id: `s${i}`,
      sha256: String(i).repeat(64),
      positive: 'PIER 1/front',
      scannedAt: at(i),
      ...(i === 0
        ? { standing: { kind: 'baseline', reprint: false } }
        : {
            standing: { kind: 'compared', baseline: { id: 's0', scannedAt: at(0) } },
            growth: {
              baseline: { id: 's0', scannedAt: at(0) },
              days: 30 * i,
              edgeGrowth: reading(2 * i),
              forecast: null,
              placement: {} as never,
              notes: [],
            },
          }),
    }),
  )
}

const context = (max: number | null): HistoryContext => ({
  reports,
  site: { rulingUnit: 'lines/in' },
  acceptances: [],
  retirements: [],
  uses: [],
  jobTypes: async () => ({
    types: new Map(max === null ? [] : [['fine-line', { limits: { edgeGrowth: { max } } } as never]]),
    unusable: new Map(),
  }),
  now: new Date('2026-08-01T00:00:00Z'),
  software: 'burngate test',
})

it('writes one page a positive, inside reports/history, and says the forecast by today’s limits', async () => {
  const first = await writeHistory(life(5), context(12))
  const again = await writeHistory(life(5), context(20))
  expect(again.page).toBe(first.page)
  expect(relative(join(reports, 'history'), first.page)).toMatch(/^[^/\\]+__[0-9a-f]{8}\.html$/)
  // 2 um in 30 days: 12 um after 180 days, 20 um after 300.
  expect(first.says).toMatch(/reaches its limit about 2026-(06-2[89]|06-30|07-0[1-4])/)
  expect(again.says).toMatch(/reaches its limit about 2026-1[01]-/)
  expect(await readFile(first.page, 'utf8')).toContain('PIER 1/front')
})

it('says why there is no forecast: nothing compared, or the job type is gone', async () => {
  expect((await writeHistory(life(1), context(12))).says).toBe(
    'No forecast: no later scan was compared with the first.',
  )
  expect((await writeHistory(life(2), context(12))).says).toBe('No forecast: 2 scans of the 3 that it takes.')
  expect((await writeHistory(life(5), context(null))).says).toContain('No forecast')
  await expect(writeHistory([], context(12))).rejects.toThrow('got none')
})

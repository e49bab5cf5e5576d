import { mkdtemp, readdir, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, it } from 'vitest'
import type { Comparison, StrokeProfile } from '../../../src/model/growth.js'
import { keepStroke, keptStroke } from '../../../src/pipeline/keep-stroke.js'
import { inspectionRecord } from '../../support/inspection-record.js'

let reports: string
beforeEach(async () => {
  reports = await mkdtemp(join(tmpdir(), 'burngate-stroke-'))
})
afterEach(() => rm(reports, { recursive: true, force: true }))

const inspection = inspectionRecord({ id: 'a', positive: 'PIER / 1' })
const profile: StrokeProfile = { distanceUm: [-10, 0, 10], seen: [1, 0.2, 1], film: [1, 0.1, 1] }
const profiles = { id: 'stroke-1', kind: 'line', before: profile, after: profile } as const
const keep = (comparison: Partial<Comparison> | undefined) =>
  keepStroke(reports, { inspection, measured: { comparison } as never })

it('keeps what a comparison showed, and gives it back for that very inspection', async () => {
  await keep({ outcome: 'compared', crops: null, profiles })
  expect(await keptStroke(reports, inspection)).toEqual({
    schema: 'burngate/stroke@1',
    inspection: 'a',
    crops: null,
    profiles,
  })
  expect(await keptStroke(reports, { ...inspection, id: 'b' })).toBeNull()
})

it('writes nothing of a scan that was not compared or showed no stroke', async () => {
  await keep(undefined)
  await keep({ outcome: 'notSameFilm', placement: null, why: '' })
  await keep({ outcome: 'compared', crops: null, profiles: null })
  expect(await readdir(reports)).toEqual([])
})

it('takes a torn file, one of another inspection and one of another schema for none', async () => {
  await keep({ outcome: 'compared', crops: null, profiles })
  const [name] = await readdir(join(reports, 'history'))
  const file = join(reports, 'history', name!)
  for (const text of [
    '{"schema": "burngate/st',
    JSON.stringify({ schema: 'burngate/stroke@1', inspection: 'b' }),
    JSON.stringify({ schema: 'burngate/stroke@2', inspection: 'a' }),
  ]) {
    await writeFile(file, text)
    expect(await keptStroke(reports, inspection)).toBeNull()
  }
})

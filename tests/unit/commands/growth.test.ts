import { copyFileSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { writeCalibration } from '../../../src/calibrate/calibration-file.js'
import { initCommand } from '../../../src/commands/init.js'
import { inspectCommand } from '../../../src/commands/inspect.js'
import { blockText, hairLines, registerMark, solid } from '../../../src/demo/artwork.js'
import type { Film } from '../../../src/demo/film.js'
import type { BedScan, DemoScanner } from '../../../src/demo/scanner.js'
import { halfLightShift } from '../../../src/demo/truth.js'
import { writeScan } from '../../../src/demo/write-scan.js'
import type { Inspection } from '../../../src/model/inspection.js'
import { measureScan } from '../../../src/pipeline/measure-scan.js'
import { calibratedScanner } from '../../support/calibrated-scanner.js'
import { expectWithin } from '../../support/expect-within.js'
import { program } from '../../support/program.js'
import { scanFolder } from '../../support/scan-folder.js'

const scanner: DemoScanner = {
  maker: 'Tidewater',
  model: 'flatbed-r',
  dpi: 600,
  scaleErrorAcross: 0.001,
  scaleErrorAlong: -0.002,
  blurAcrossUm: 16,
  blurAlongUm: 19,
  black: 300,
  gain: 56_000,
  gamma: 1.4,
  veil: 0,
  readNoise: 10,
  shotNoise: 120,
  flare: 0,
  flareReachMm: 10,
  shading: 0,
  lamp: 1,
}

const film: Film = {
  widthMm: 32,
  heightMm: 22,
  baseDensity: 0.05,
  netDensity: 3.1,
  inkSpreadUm: 18,
  shapes: [
    solid(3, 3, 8, 6),
    ...hairLines(14, 3, 8, [0.12, 0.2, 0.4], 1.2),
    ...blockText('TIDE', 3, 12, 5),
    ...registerMark(26, 7, 2, 0.12),
    solid(21, 14, 8, 1.2),
    solid(21, 17, 8, 0.5),
  ],
}
const other: Film = { ...film, shapes: [solid(4, 4, 12, 4), ...blockText('MESH', 5, 11, 7), solid(24, 3, 2, 15)] }

const DAY = '2025-02-0'
const folder = scanFolder()
const it_ = program(folder.path, undefined, request => measureScan(request, { tempDir: folder.path }))
const shop = () => join(folder.path, 'shop')

async function lay(name: string, of: Film, turnDegrees: number, seed: number, mirrored = false) {
  const scan: BedScan = {
    scanner,
    bedWidthMm: 36,
    bedHeightMm: 28,
    film: of,
    placement: { acrossMm: 18 + seed / 10, alongMm: 14, turnDegrees, mirrored },
    holder: null,
    seed,
  }
  await writeScan(join(folder.path, name), scan, '2025-01-02T03:04:05')
}

async function inspect(name: string, sidecar: string, options: object = {}): Promise<Inspection> {
  if (sidecar !== '') folder.put(`${name}.yaml`, sidecar)
  await inspectCommand(
    [name],
    { workspace: 'shop', scanner: 'flatbed-r', jobType: 'aged', json: true, ...options },
    it_.app,
  )
  return it_.json()[0] as Inspection
}

const doubtsOf = (record: Inspection) =>
  record.findings.filter(f => f.reading === 'scan').map(f => `${f.verdict}: ${f.why} > ${f.next}`)

const told: Record<string, Inspection> = {}

beforeAll(async () => {
  expect(await initCommand('shop', it_.app)).toBe(0)
  folder.put('shop/job-types/aged.yaml', 'name: aged\nlimits: { edgeGrowth: { max: 12 }, solidDensity: { min: 1 } }\n')
  await writeCalibration(join(shop(), 'scanners'), {
    ...calibratedScanner(scanner, 3),
    calibratedAt: '2025-01-02T09:00:00.000Z',
  })
  await lay('P__1.tif', film, 1.5, 1)
  await lay('P__2.tif', { ...film, inkSpreadUm: 26 }, 183, 2, true)
  await lay('P__wrong.tif', other, -2, 3)
  told.first = await inspect('P__1.tif', `scannedAt: ${DAY}1T10:00\n`)
  told.second = await inspect('P__2.tif', `scannedAt: ${DAY}8T10:00\n`)
}, 120_000)
afterAll(() => folder.remove())

describe('a positive scanned again and again, from the command line', () => {
  it('its first scan is the baseline, and a limit on growth is not asked of it', () => {
    const { first } = told
    expect(first!.findings).toMatchObject([{ reading: 'solidDensity' }])
    expect(first).toMatchObject({ verdict: 'pass', growth: null, standing: { kind: 'baseline', reprint: false } })
    expect(first!.findings).toMatchObject([{ reading: 'solidDensity' }])
  })

  it('a later scan, mirrored and upside down, shows how far the edges grew; the limit judges it', () => {
    const { first, second } = told
    const truth = halfLightShift({ ...film, inkSpreadUm: 26 }) - halfLightShift(film)
    const { growth } = second!
    expect(growth).toMatchObject({ baseline: { id: first!.id, scannedAt: first!.scannedAt }, days: 7, forecast: null })
    const edge = growth!.edgeGrowth!
    expectWithin(edge.value, truth, { abs: 3, unit: 'um', because: 'wanted at 600 dpi' })
    expectWithin(edge.value, truth, { abs: edge.expanded, unit: 'um', because: 'its own U' })
    expectWithin(growth!.spreadGrowth!.value, 8, { abs: growth!.spreadGrowth!.expanded, unit: 'um', because: 'U' })
    expectWithin(growth!.densityLoss!.value, 0, { abs: growth!.densityLoss!.expanded, unit: 'D', because: 'U' })
    expect(second!.readings.edgeGrowth).toEqual(edge)
    expect(second!.findings).toContainEqual(
      expect.objectContaining({ reading: 'edgeGrowth', verdict: truth > 12 ? 'fail' : 'pass' }),
    )
    expect(growth!.placement.mirrored).toBe(true)
    expect(second!.standing).toEqual({ kind: 'compared', baseline: growth!.baseline })
  })

  it('another film under its name is told apart and keeps out of the growth', async () => {
    const wrong = await inspect('P__wrong.tif', `scannedAt: ${DAY}9T10:00\n`)
    expect(wrong).toMatchObject({
      verdict: 'recheck',
      growth: null,
      standing: { kind: 'apart', because: 'notSameFilm' },
    })
    expect(doubtsOf(wrong).join()).toContain('not the same film')
  })

  it('the same file under another date, a date before the first scan, and one to come are each told', async () => {
    copyFileSync(join(folder.path, 'P__2.tif'), join(folder.path, 'P__3.tif'))
    const same = await inspect('P__3.tif', 'scannedAt: 2025-02-20T10:00\n')
    expect(same).toMatchObject({ verdict: 'recheck', growth: null, standing: { because: 'sameScan' } })
    expect(doubtsOf(same).join()).toContain('the very file')
    // The film of the second scan, dated before the first: its edges are wider, which no older scan's can be.
    await lay('P__4.tif', { ...film, inkSpreadUm: 26 }, 2, 4)
    const early = await inspect('P__4.tif', 'scannedAt: 2025-01-20T10:00\n')
    expect(early).toMatchObject({ verdict: 'recheck', growth: null, standing: { because: 'beforeBaseline' } })
    expect(doubtsOf(early).join()).toContain('ink does not creep back')
    const late = await inspect('P__4.tif', 'scannedAt: 2031-01-20T10:00\n')
    expect(late).toMatchObject({ verdict: 'recheck', growth: null, standing: { because: 'futureScan' } })
    expect(doubtsOf(late).join()).toContain('still to come')
  })

  it('the same question twice is one record; without the archived baseline it says so; a reprint begins anew', async () => {
    expect((await inspect('P__2.tif', '')).id).toBe(told.second!.id)
    await lay('P__5.tif', { ...film, inkSpreadUm: 20 }, -3, 5)
    const { sha256 } = told.first!.scan
    const archived = join(shop(), 'archive', sha256.slice(0, 2), `${sha256}.tif`)
    // Another scan of the very film under its hash: nothing but the hash can tell.
    const kept = readFileSync(archived)
    rmSync(archived)
    copyFileSync(join(folder.path, 'P__2.tif'), archived)
    const changed = await inspect('P__5.tif', 'scannedAt: 2025-02-22T10:00\n')
    expect(changed).toMatchObject({ verdict: 'recheck', growth: null, standing: { because: 'baselineChanged' } })
    expect(doubtsOf(changed).join()).toContain('baseline file changed')
    rmSync(archived)
    const lost = await inspect('P__5.tif', 'scannedAt: 2025-02-22T10:00\n')
    expect(lost).toMatchObject({ verdict: 'recheck', growth: null, standing: { because: 'baselineLost' } })
    expect(doubtsOf(lost).join()).toContain('not in the archive')
    expect(lost.id).not.toBe(changed.id)
    // Brought back from the backup it is compared as ever.
    writeFileSync(archived, kept)
    expect((await inspect('P__5.tif', '')).standing).toMatchObject({ kind: 'compared' })
    const anew = await inspect('P__5.tif', '', { reprint: true })
    expect(anew).toMatchObject({ verdict: 'pass', growth: null, standing: { kind: 'baseline', reprint: true } })
    await lay('P__6.tif', { ...film, inkSpreadUm: 20 }, 4, 6)
    const next = await inspect('P__6.tif', 'scannedAt: 2025-03-01T10:00\n')
    expect(next.growth).toMatchObject({ baseline: { id: anew.id } })
    expectWithin(next.growth!.edgeGrowth!.value, 0, {
      abs: next.growth!.edgeGrowth!.expanded,
      unit: 'um',
      because: 'U',
    })
  })

  it('an older scan that comes late begins the life of the film; later ones inspected again count from it', async () => {
    await lay('P__7.tif', { ...film, inkSpreadUm: 15 }, 88, 7)
    const older = await inspect('P__7.tif', 'scannedAt: 2025-01-10T10:00\n')
    expect(older).toMatchObject({
      verdict: 'recheck',
      growth: null,
      standing: { kind: 'earliest', before: { scannedAt: told.first!.scannedAt } },
    })
    expect(doubtsOf(older).join()).toContain('growth is counted from this scan from now on')
    expect((await inspect('P__7.tif', '')).id).toBe(older.id)
    const again = await inspect('P__2.tif', '')
    expect(again.id).not.toBe(told.second!.id)
    expect(again.growth).toMatchObject({ baseline: { id: older.id }, days: 29 })
    const truth = halfLightShift({ ...film, inkSpreadUm: 26 }) - halfLightShift({ ...film, inkSpreadUm: 15 })
    expectWithin(again.growth!.edgeGrowth!.value, truth, { abs: 3, unit: 'um', because: 'wanted at 600 dpi' })
  })
})

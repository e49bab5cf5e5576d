import { existsSync, readdirSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { writeCalibration } from '../../../src/calibrate/calibration-file.js'
import { initCommand } from '../../../src/commands/init.js'
import { inspectCommand } from '../../../src/commands/inspect.js'
import type { Calibration } from '../../../src/model/calibration.js'
import { program } from '../../support/program.js'
import { sampleCalibration } from '../../support/sample-inspection.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'
import { standInScan } from '../../support/stand-in-measure.js'
import { rational, writeTiff } from '../../support/tiff-writer.js'

let folder: ScanFolder
let it_: ReturnType<typeof program>
beforeEach(() => {
  folder = scanFolder()
  it_ = program(folder.path)
})
afterEach(async () => {
  await it_.app.close()
  folder.remove()
})

async function workspace(): Promise<string> {
  expect(await initCommand('shop', it_.app)).toBe(0)
  folder.put('shop/job-types/solid.yaml', 'name: solid\nlimits: { solidDensity: { min: 3.0 } }\n')
  const sample = sampleCalibration()
  await writeCalibration(join(folder.path, 'shop', 'scanners'), {
    ...sample,
    scan: { ...sample.scan, dpi: { across: 1200, along: 1200 } },
  })
  it_.said()
  return join(folder.path, 'shop')
}

describe('inspect in a workspace', () => {
  it('prints one record a scan and leaves the scan where it is', async () => {
    const shop = await workspace()
    const file = folder.put('film.tif', standInScan(3.4, 1))
    const options = { workspace: 'shop', scanner: 'flatbed-a', jobType: 'solid', json: true }
    expect(await inspectCommand(['film.tif'], options, it_.app)).toBe(0)
    const [record, ...more] = it_.json()
    expect(more).toEqual([])
    expect(record).toMatchObject({
      schema: 'burngate/inspection@1',
      positive: 'film',
      jobType: 'solid',
      jobTypeFrom: 'commandLine',
      verdict: 'pass',
      scanner: { name: 'flatbed-a' },
    })
    expect(existsSync(file)).toBe(true)
    expect(readdirSync(join(shop, 'reports')).sort()).toEqual(
      ['index.html', 'process.html', `film__${record.id}.html`, `film__${record.id}.json`].sort(),
    )
    expect(it_.said()).toBe('')
    expect(readdirSync(join(shop, '.burngate', 'tmp')).length).toBeLessThanOrEqual(1)
  })

  it('takes each scan by itself: the worst one gives the exit status, each has its line', async () => {
    await workspace()
    folder.put('good.tif', standInScan(3.4, 1))
    folder.put('thin.tif', standInScan(2.5, 2))
    folder.put('cut.tif', standInScan(3.4, 3).subarray(0, 200))
    const options = { workspace: 'shop', jobType: 'solid', json: true }
    expect(await inspectCommand(['good.tif', 'cut.tif', 'none.tif', 'thin.tif'], options, it_.app)).toBe(1)
    expect(it_.json().map(line => [line.schema, line.verdict ?? line.code, line.file ?? line.scan.file])).toEqual([
      ['burngate/inspection@1', 'pass', 'good.tif'],
      ['burngate/problem@1', 'SCAN_TRUNCATED', 'cut.tif'],
      ['burngate/problem@1', 'FILE_MISSING', 'none.tif'],
      ['burngate/inspection@1', 'fail', 'thin.tif'],
    ])
    expect(await inspectCommand(['good.tif', 'cut.tif'], options, it_.app)).toBe(3)
    expect(it_.json()[1]).toEqual({
      schema: 'burngate/problem@1',
      file: 'cut.tif',
      code: 'SCAN_TRUNCATED',
      what: expect.stringContaining('cut short'),
      next: expect.stringContaining('copy the whole file again'),
    })
  })

  it('says the verdict first, then the worst reason, what to do, the readings and the report', async () => {
    const shop = await workspace()
    folder.put('thin.tif', standInScan(2.5, 2))
    expect(await inspectCommand(['thin.tif'], { workspace: 'shop', jobType: 'solid' }, it_.app)).toBe(1)
    expect(it_.out).toEqual([])
    const lines = it_.said().split('\n')
    expect(lines[0]).toBe('FAIL  thin  (solid, thin.tif)')
    expect(lines[1]).toContain('below the 3.00 D')
    expect(lines[2]).toMatch(/^ {2}To do: /)
    expect(lines).toContain('  Solid density  2.50 ± 0.01 D  at least 3.00 D  fail')
    expect(lines.some(line => line.startsWith(`  Report: ${shop}`))).toBe(true)
    await inspectCommand(['thin.tif'], { workspace: 'shop', jobType: 'solid' }, it_.app)
    expect(it_.said()).toContain('not recorded a second time')
  })

  it('takes the sidecar beside the scan and the inbox folder it lies in', async () => {
    await workspace()
    folder.put('film.tif', standInScan(3.4, 1))
    folder.put('film.tif.yaml', 'positive: FROM-SIDECAR\nstock: stock-a\n')
    await inspectCommand(['film.tif'], { workspace: 'shop', json: true }, it_.app)
    expect(it_.json()[0]).toMatchObject({
      positive: 'FROM-SIDECAR',
      positiveFrom: 'sidecar',
      told: { stock: 'stock-a' },
    })
    const inInbox = folder.put('shop/inbox/x.tif', standInScan(3.4, 2))
    await inspectCommand([inInbox], { workspace: 'shop', json: true }, it_.app)
    expect(it_.json()[0]).toMatchObject({ positive: 'x', jobTypeFrom: 'site' })
    expect(existsSync(inInbox)).toBe(true)
  })

  it('refuses a wrong job type, positive or workspace before any scan is touched', async () => {
    await workspace()
    folder.put('film.tif', standInScan(3.4, 1))
    expect(await inspectCommand(['film.tif'], { workspace: 'shop', jobType: 'solit', json: true }, it_.app)).toBe(64)
    expect(it_.json()).toMatchObject([
      { file: null, code: 'JOB_TYPE_UNKNOWN', what: 'there is no job type "solit" (did you mean solid?)' },
    ])
    expect(await inspectCommand(['film.tif'], { workspace: 'shop', positive: 'a/b' }, it_.app)).toBe(64)
    await expect(inspectCommand(['film.tif'], { workspace: 'none' }, it_.app)).rejects.toMatchObject({
      problem: { code: 'WORKSPACE_MISSING' },
    })
    expect(readdirSync(join(folder.path, 'shop', 'archive'))).toEqual([])
  })

  it('is a recheck, not a pass, with a scanner nobody calibrated', async () => {
    await workspace()
    folder.put('film.tif', standInScan(3.4, 1))
    const options = { workspace: 'shop', jobType: 'solid', scanner: 'flatbed-z' }
    expect(await inspectCommand(['film.tif'], options, it_.app)).toBe(2)
    expect(it_.said()).toContain('The scanner flatbed-z has no calibration; calibrated are flatbed-a.')
  })
})

describe('inspect with a calibration that does not fit', () => {
  /** `flatbed-a`, calibrated once, with the change; the film itself would pass. */
  async function inspected(change: (sample: Calibration) => Partial<Calibration>, scan = standInScan(3.4, 1)) {
    const shop = await workspace()
    const sample = { ...sampleCalibration(), scan: { ...sampleCalibration().scan, dpi: { across: 1200, along: 1200 } } }
    rmSync(join(shop, 'scanners'), { recursive: true })
    await writeCalibration(join(shop, 'scanners'), { ...sample, ...change(sample) })
    folder.put('film.tif', scan)
    const options = { workspace: 'shop', scanner: 'flatbed-a', jobType: 'solid', json: true }
    const status = await inspectCommand(['film.tif'], options, it_.app)
    const [record] = it_.json()
    return { status, record, worst: record.findings[0] }
  }

  it('is a recheck that says the resolution and the channel in one', async () => {
    const other = await inspected(sample => ({
      scan: { ...sample.scan, dpi: { across: 600, along: 600 }, channel: 'blue' },
    }))
    expect(other.status).toBe(2)
    expect(other.record.verdict).toBe('recheck')
    expect(other.worst.why).toContain('it was made at 600 dpi and this scan has 1200 dpi')
    expect(other.worst.why).toContain('it was made on the blue channel and this scan is read on grey')
    expect(other.worst.next).toContain('burngate calibrate')
  })

  it.each([
    ['dpi', { dpi: { across: 2400, along: 2400 } }, 'it was made at 2400 dpi'],
    ['channel', { channel: 'green' }, 'it was made on the green channel'],
  ] as const)('is a recheck for another %s alone', async (_, scan, says) => {
    const { status, record, worst } = await inspected(sample => ({ scan: { ...sample.scan, ...scan } }))
    expect([status, record.verdict]).toEqual([2, 'recheck'])
    expect(worst.why).toContain(says)
    expect(worst.why.split(';')).toHaveLength(1)
  })

  it('is a recheck for a scan of other bits', async () => {
    const resolution = rational(1200, 1)
    const data = Array.from({ length: 256 }, (_, i) => (132 + i) % 256)
    const scan = writeTiff({ width: 16, height: 16, bits: 8, data, tags: { 282: resolution, 283: resolution } })
    const { status, record } = await inspected(() => ({}), scan)
    expect([status, record.verdict]).toEqual([2, 'recheck'])
    expect(record.findings.map((finding: { why: string }) => finding.why).join()).toContain(
      'it was made with 16 bits a sample and this scan has 8',
    )
  })

  it('is a recheck when it is too old or dated in the future', async () => {
    const old = await inspected(() => ({ calibratedAt: '2020-01-02T08:00:00Z' }))
    expect([old.status, old.record.verdict]).toEqual([2, 'recheck'])
    expect(old.worst.why).toMatch(/is \d+ days old; the site allows \d+/)
    expect(old.worst.next).toContain('calibrate the scanner again')
  })

  it('passes when it fits', async () => {
    const { status, record } = await inspected(() => ({ calibratedAt: '2025-03-01T08:00:00Z' }))
    expect([status, record.verdict]).toEqual([0, 'pass'])
  })
})

describe('inspect outside a workspace', () => {
  it('judges with the shipped job types and keeps nothing, unless told where', async () => {
    folder.put('film.tif', standInScan(3.4, 1))
    expect(await inspectCommand(['film.tif'], { jobType: 'bold' }, it_.app)).toBe(2)
    expect(it_.said()).toContain('Nothing was kept')
    expect(readdirSync(folder.path).filter(name => name !== 'tmp')).toEqual(['film.tif'])
    expect(await inspectCommand(['film.tif'], { out: 'page', json: true }, it_.app)).toBe(2)
    const [record] = it_.json()
    expect(readdirSync(join(folder.path, 'page')).sort()).toEqual([
      `film__${record.id}.html`,
      `film__${record.id}.json`,
    ])
  })
})

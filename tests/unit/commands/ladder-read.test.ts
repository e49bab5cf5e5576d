import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { parse } from 'yaml'
import { writeCalibration } from '../../../src/calibrate/calibration-file.js'
import { initCommand } from '../../../src/commands/init.js'
import { ladderReadCommand } from '../../../src/commands/ladder-read.js'
import type { MeasuredScan, MeasureRequest } from '../../../src/model/measured.js'
import { program } from '../../support/program.js'
import { sampleCalibration } from '../../support/sample-inspection.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'
import { standInMeasure, standInScan } from '../../support/stand-in-measure.js'

const PLAN = `name: spring
jobType: solid
stocks: [stock-a]
modes:
  - { name: fast, dpi: [720, 720], directions: 2, minutes: 1 }
  - { name: fine, dpi: [1440, 720], directions: 1, minutes: 4 }
levels: [4, 6, 8]
`
let folder: ScanFolder
let it_: ReturnType<typeof program>
let asked: MeasureRequest[]
beforeEach(async () => {
  folder = scanFolder()
  asked = []
  const measure = async (request: MeasureRequest): Promise<MeasuredScan> => {
    asked.push(request)
    const { readings, notMeasured, ...rest } = await standInMeasure(request, join(folder.path, 'tmp'))
    return { ...rest, readings, notMeasured, ladder: [{ index: 0, readings, notMeasured, notes: [], crop: null }] }
  }
  it_ = program(folder.path, new Date('2025-03-04T12:00:00Z'), measure)
  await initCommand('shop', it_.app)
  folder.put('shop/job-types/solid.yaml', 'name: solid\nlimits: { solidDensity: { min: 3.0 } }\n')
  folder.put('plan.yaml', PLAN)
  const sample = sampleCalibration()
  await writeCalibration(join(folder.path, 'shop', 'scanners'), {
    ...sample,
    scan: { ...sample.scan, dpi: { across: 1200, along: 1200 } },
  })
  it_.said()
})
afterEach(async () => {
  await it_.app.close()
  folder.remove()
})

let seed = 0
const scan = (name: string, density: number) => {
  folder.put(name, standInScan(density, ++seed))
  return name
}
const read = (scans: readonly string[], more: Partial<Parameters<typeof ladderReadCommand>[1]> = {}) =>
  ladderReadCommand(scans, { plan: 'plan.yaml', workspace: 'shop', json: true, ...more }, it_.app)

describe('ladder read', () => {
  it('recommends, writes page, record and named setting, and answers as the contract has it', async () => {
    const scans = [
      scan('stock-a__fast__4.tif', 2.5),
      scan('stock-a__fast__6.tif', 2.9),
      scan('stock-a__fast__8.tif', 3.2),
      scan('stock-a__fine__4.tif', 2.8),
      scan('stock-a__fine__6.tif', 3.3),
    ]
    expect(await read(scans)).toBe(0)
    expect(asked.map(request => request.ladder)).toEqual(scans.map(() => ({ kind: 'whole' })))
    const [json] = it_.json()
    expect(json).toMatchObject({
      schema: 'burngate/ladder@1',
      recommended: { stock: 'stock-a', mode: 'fast', level: 8 },
      safer: { stock: 'stock-a', mode: 'fine', level: 6 },
      missing: [{ stock: 'stock-a', mode: 'fine', level: 8 }],
      perStock: { 'stock-a': { recommended: { level: 8 } } },
    })
    expect(json.combinations).toHaveLength(5)
    expect(json.combinations[0]).toMatchObject({
      stock: 'stock-a',
      mode: 'fast',
      level: 4,
      verdict: 'fail',
      readings: { solidDensity: { value: 2.5, unit: 'D' } },
      why: expect.stringContaining('2.50'),
    })
    const said = it_.said()
    expect(said).toContain('PRINT AT  stock-a, fast, level 8')
    expect(said).toContain('Look next')
    const page = /Page: (.*)/.exec(said)![1]!
    expect(readFileSync(page, 'utf8')).toContain('<h2 id="answer">')
    expect(JSON.parse(readFileSync(page.replace(/html$/, 'json'), 'utf8'))).toEqual(json)
    const setting = parse(readFileSync(join(folder.path, 'shop/settings/spring-stock-a.yaml'), 'utf8'))
    expect(setting).toMatchObject({
      setting: 'spring-stock-a',
      mode: { name: 'fast' },
      level: 8,
      satisfies: 'solid',
      evidence: { prints: 1, readings: { solidDensity: { value: 3.2 } } },
    })
  })

  it('goes on past scans of another plan, copies and files that are no scans, and names each in one line', async () => {
    const scans = [
      scan('stock-a__fast__8.tif', 3.2),
      scan('stock-b__slow__8.tif', 3.2),
      scan('stock-a__fine__7.tif', 3.2),
      'none.tif',
    ]
    folder.put('copy.tif', readFileSync(join(folder.path, scans[0]!)))
    folder.put('note.tif', 'no scan')
    expect(await read([...scans, 'copy.tif', 'note.tif'])).toBe(3)
    const [json] = it_.json()
    expect(json.unread.map((u: { code: string }) => u.code)).toEqual([
      'LADDER_SCAN_NOT_OF_PLAN',
      'LADDER_SCAN_NOT_OF_PLAN',
      'FILE_MISSING',
      'LADDER_SCAN_TWICE',
      'NOT_A_SCAN',
    ])
    expect(json.recommended).toMatchObject({ level: 8 })
    expect(it_.said().match(/Took no part/g)).toHaveLength(5)
  })

  it('averages repeats and says when there are more than planned', async () => {
    expect(await read([scan('stock-a__fast__8__1.tif', 3.2), scan('stock-a__fast__8__2.tif', 3.24)])).toBe(0)
    const [json] = it_.json()
    expect(json.combinations).toMatchObject([{ readings: { solidDensity: { value: 3.22 } }, samples: [{}, {}] }])
    expect(json.notes[0]).toContain('was read 2 times where the plan prints it once')
  })

  it('takes the sidecar before the name', async () => {
    folder.put('scan1.tif.yaml', 'stock: stock-a\nmode: fine\nsetting: 6\n')
    expect(await read([scan('scan1.tif', 3.2)])).toBe(0)
    expect(it_.json()[0].recommended).toMatchObject({ mode: 'fine', level: 6 })
  })

  it('is 1 where nothing passes and 2 where nothing is sure', async () => {
    expect(await read([scan('stock-a__fast__8.tif', 2.5)])).toBe(1)
    expect(it_.said()).toContain('NOTHING PASSES')
    expect(await read([scan('stock-a__fast__8.tif', 3.005)])).toBe(2)
    expect(existsSync(join(folder.path, 'shop/settings'))).toBe(false)
  })

  it('refuses when no scan at all could be read', async () => {
    const refused = await read([scan('other.tif', 3.2)]).then(
      () => null,
      error => error.problem,
    )
    expect(refused).toMatchObject({ code: 'LADDER_NOTHING_READ', what: expect.stringContaining('other.tif') })
  })
})

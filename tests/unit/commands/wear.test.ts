import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { wearCommand } from '../../../src/commands/wear.js'
import type { MeasuredScan, MeasureRequest } from '../../../src/model/measured.js'
import type { InkLost } from '../../../src/model/wear.js'
import { program } from '../../support/program.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'
import { standInMeasure, standInScan } from '../../support/stand-in-measure.js'

const LOST: InkLost = {
  areaMm2: 1.28,
  expandedMm2: 0.06,
  solidMm2: 150,
  sharePercent: 0.85,
  expandedPercent: 0.04,
  places: 2,
  scratches: 1,
  largestMm2: 0.8,
  worst: null,
}
let folder: ScanFolder
let it_: ReturnType<typeof program>
let lost: InkLost | null
let asked: MeasureRequest[]
beforeEach(() => {
  folder = scanFolder()
  lost = LOST
  asked = []
  const measure = async (request: MeasureRequest): Promise<MeasuredScan> => {
    asked.push(request)
    const measured = await standInMeasure(request, join(folder.path, 'tmp'))
    const { comparison } = measured
    return comparison?.outcome === 'compared' ? { ...measured, comparison: { ...comparison, inkLost: lost } } : measured
  }
  it_ = program(folder.path, new Date('2025-03-04T12:00:00Z'), measure)
  for (const [i, name] of ['stock-a__before', 'stock-a__after', 'stock-b__before', 'stock-b__after'].entries())
    folder.put(`${name}.tif`, standInScan(3.2, i + 1))
})
afterEach(async () => {
  await it_.app.close()
  folder.remove()
})
const wear = (...scans: string[]) => wearCommand(scans, { json: true }, it_.app)

describe('wear', () => {
  it('holds each film against its own earlier scan and tells the loss by stock', async () => {
    const scans = ['stock-a__before.tif', 'stock-a__after.tif', 'stock-b__before.tif', 'stock-b__after.tif']
    expect(await wear(...scans)).toBe(0)
    const [json] = it_.json()
    expect(json).toMatchObject({
      schema: 'burngate/wear@1',
      pairs: [{ stock: 'stock-a', inkLost: LOST }, { stock: 'stock-b' }],
      stocks: [
        { stock: 'stock-a', pairs: 1, sharePercent: 0.85 },
        { stock: 'stock-b', pairs: 1 },
      ],
      untold: [],
    })
    expect(asked.map(request => request.baseline?.wear ?? false)).toEqual([false, true, false, true])
    expect(asked[1]!.baseline!.file).toContain('stock-a__before.tif')
    expect(it_.said()).toContain('1.280 ± 0.060 mm2')
  })

  it('goes on past a pair that cannot be told, and says why', async () => {
    folder.put('copy.tif', standInScan(3.2, 1))
    expect(await wear('stock-a__before.tif', 'copy.tif', 'stock-b__before.tif', 'stock-b__after.tif')).toBe(3)
    const [json] = it_.json()
    expect(json.pairs).toHaveLength(1)
    expect(json.untold).toMatchObject([{ after: 'copy.tif', code: 'WEAR_NOT_TOLD' }])
    lost = null
    expect(await wear('stock-b__before.tif', 'stock-b__after.tif')).toBe(3)
    expect(it_.said()).toContain('no solid of 1 mm lies in view of both scans')
  })

  it('writes a page with each test, each stock and the pictures', async () => {
    await wearCommand(['stock-a__before.tif', 'stock-a__after.tif'], { out: 'pages' }, it_.app)
    const html = readFileSync(/Page: (.*)/.exec(it_.said())![1]!, 'utf8')
    expect(html).toContain('stock-a')
    expect(html).toContain('1.280 ± 0.060')
    expect(html).toContain('one test alone')
    expect(html).not.toMatch(/(src|href)="(?!data:|#)/)
  })

  it('refuses a scan without its fellow', async () => {
    const code = await wear('stock-a__before.tif').then(
      () => null,
      error => error.problem.code,
    )
    expect(code).toBe('WEAR_PAIRS_INCOMPLETE')
  })
})

import { existsSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { inspectCommand } from '../../../src/commands/inspect.js'
import { writeScan } from '../../../src/demo/write-scan.js'
import type { Inspection } from '../../../src/model/inspection.js'
import type { StripIdentity } from '../../../src/model/strip.js'
import { drawStrip, USUAL_SCREEN } from '../../../src/strip/draw-strip.js'
import { program } from '../../support/program.js'
import { QUICK_SCANNER } from '../../support/quick-scanner.js'
import { scanFolder } from '../../support/scan-folder.js'
import { checkedText, withCodes } from '../../support/strip-codes.js'

/**
 * Films with strips nobody should believe, through the command itself into a real workspace: the road goes on, and says why. What else a code may
 * hold is refused before this, in `read-identity.test.ts`.
 */
const folder = scanFolder()
const shop = join(folder.path, 'shop')
const { app, json } = program(folder.path, new Date('2026-03-20T12:00:00Z'), 'itself')

const IDENTITY: StripIdentity = {
  positive: 'reef-label',
  jobType: 'halftone',
  dpi: { across: 600, along: 600 },
  form: 'short',
  laid: 'head',
  tints: 'grey',
  setting: 'ink 8',
}
const DRAWING = drawStrip(IDENTITY, USUAL_SCREEN)
const OWN = withCodes(DRAWING, {})

/** Strips below each other on one film, scanned at 300 dpi. */
async function scanned(
  name: string,
  rasters: readonly (typeof OWN)[],
  how: { mirrored?: boolean; cut?: number; shapes?: { u: number; v: number; width: number; height: number }[] } = {},
): Promise<string> {
  const file = join(folder.path, name)
  const heightMm = 3 + 17 * rasters.length
  const bedWidthMm = 78 - (how.cut ?? 0)
  await writeScan(
    file,
    {
      scanner: { ...QUICK_SCANNER, dpi: 300, blurAcrossUm: 14, blurAlongUm: 14, gamma: 1.8 },
      bedWidthMm,
      bedHeightMm: heightMm + 6,
      film: {
        widthMm: 74,
        heightMm,
        baseDensity: 0.06,
        netDensity: 2.6,
        inkSpreadUm: 20,
        shapes: (how.shapes ?? []).map(shape => ({ kind: 'rectangle', ...shape, ink: -1 })),
        printed: rasters.map((raster, i) => ({ u: 2, v: 2 + 17 * i, raster })),
      },
      placement: {
        acrossMm: 39 - (how.cut ?? 0),
        alongMm: heightMm / 2 + 3,
        turnDegrees: 1.1,
        mirrored: how.mirrored ?? false,
      },
      holder: null,
      seed: 5,
    },
    '2026-03-19T10:00:00',
  )
  return file
}

async function inspected(file: string, options: object = {}): Promise<{ status: number; record: Inspection }> {
  const status = await inspectCommand([file], { json: true, workspace: shop, ...options }, app)
  return { status, record: json()[0] as Inspection }
}
const scanWhys = ({ findings }: Inspection) => findings.filter(f => f.reading === 'scan').map(f => f.why)

/** Files outside the workspace, with their times: nothing there may change. */
const outside = () =>
  readdirSync(folder.path)
    .filter(name => name !== 'shop')
    .map(name => `${name} ${statSync(join(folder.path, name)).mtimeMs}`)
    .sort()

beforeAll(async () => {
  await app.initWorkspace(shop)
  const file = join(shop, 'burngate.yaml')
  writeFileSync(file, `${readFileSync(file, 'utf8').replace(/^inkSideUp:.*$/m, '')}\ninkSideUp: false\n`)
})
afterAll(async () => {
  await app.close()
  folder.remove()
})

describe('a strip that is believed', () => {
  it('says which positive, which job type and what it was printed with, and that it lies the wrong way round; two that agree are one film', async () => {
    const { status, record } = await inspected(await scanned('a__1.tif', [OWN, OWN], { mirrored: true }))
    // Without a calibration nothing passes.
    expect([status, record.positive, record.positiveFrom]).toEqual([2, 'reef-label', 'strip'])
    expect([record.jobType, record.jobTypeFrom, record.told.setting]).toEqual(['halftone', 'strip', 'ink 8'])
    expect(record.strip).toMatchObject({ mirrored: true, ends: ['first', 'last'] })
    expect(record.readings.toneValueError).toBeDefined()
    expect(scanWhys(record).join(' ')).toContain('The film shows mirrored on the scan; with its ink side down')
  })

  it('is read though it is cut off, one mark and one code are gone', async () => {
    const { fields } = DRAWING.layout
    const { rect } = fields.find(field => field.kind === 'mark' && field.index === 1)!
    // The mark rubbed away; the first code outside the scan.
    const gone = { u: 2 + rect.x - 0.2, v: 2 + rect.y - 0.2, width: rect.width + 0.4, height: rect.height - 0.6 }
    const { record } = await inspected(await scanned('c__1.tif', [OWN], { cut: 14, shapes: [gone] }))
    expect([record.positive, record.positiveFrom]).toEqual(['reef-label', 'strip'])
    expect(record.strip!.ends).toEqual(['last'])
  })
})

describe('a strip that is not believed', () => {
  const bad: readonly (readonly [string, string, string])[] = [
    ['jobtype', checkedText('1khg reef-label halftoon 600'), 'it names the job type "halftoon"'],
    ['path', checkedText('1khg ../../x halftone 600'), 'its positive holds a path'],
  ]
  it.each(bad)('for %s: the film is read as one without a strip, and the finding says why', async (name, text, why) => {
    const file = await scanned(`${name}__1.tif`, [withCodes(DRAWING, { first: text, last: text })])
    const before = outside()
    const { status, record } = await inspected(file)
    expect(status).toBe(2)
    expect([record.positive, record.positiveFrom, record.jobTypeFrom]).toEqual([name, 'fileName', 'site'])
    expect(scanWhys(record).join(' ')).toContain(why)
    expect(record.strip).toBeUndefined()
    expect(outside()).toEqual(before)
    expect(existsSync(join(folder.path, '..', 'x'))).toBe(false)
    const reports = readdirSync(join(shop, 'reports'), { recursive: true }).map(String)
    expect(reports.filter(report => report.startsWith(`${name}__`)).length).toBeGreaterThanOrEqual(2)
  })

  it('is two films on one scan', async () => {
    const other = drawStrip({ ...IDENTITY, positive: 'harbor' }, USUAL_SCREEN).bitmap
    const { record } = await inspected(await scanned('two__1.tif', [OWN, other]))
    expect([record.positive, record.positiveFrom]).toEqual(['two', 'fileName'])
    expect(scanWhys(record).join(' ')).toMatch(
      /2 control strips are in view, and they name 2 films: "(reef-label|harbor)"/,
    )
  })
})

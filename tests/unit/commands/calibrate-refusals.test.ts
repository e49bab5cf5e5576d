import { createHash } from 'node:crypto'
import { mkdirSync, readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import { calibrateCommand } from '../../../src/commands/calibrate.js'
import { initCommand } from '../../../src/commands/init.js'
import type { Film } from '../../../src/demo/film.js'
import { knifeEdge } from '../../../src/demo/knife-edge.js'
import type { BedScan, DemoScanner } from '../../../src/demo/scanner.js'
import { certificateCsv, evenSteps, stepTablet } from '../../../src/demo/tablet.js'
import { writeScan } from '../../../src/demo/write-scan.js'
import type { ProblemCode } from '../../../src/model/problem.js'
import { program } from '../../support/program.js'
import { QUICK_SCANNER } from '../../support/quick-scanner.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'

const SCANNER = QUICK_SCANNER
const DENSITIES = evenSteps(21, 0.15)
const lines = (row: (i: number) => string, count = 21) => Array.from({ length: count }, (_, i) => row(i)).join('\n')

let folder: ScanFolder
let running: ReturnType<typeof program>
let tablet: string
let kept: ReadonlyMap<string, string>

beforeAll(async () => {
  folder = scanFolder()
  running = program(folder.path)
  await initCommand('shop', running.app)
  const lay = (name: string, film: Film, more: Partial<DemoScanner> = {}, shift = 0, turnDegrees = 0.5) => {
    const [bedWidthMm, bedHeightMm] = [film.widthMm + 12, film.heightMm + 10]
    const placement = { acrossMm: bedWidthMm / 2 + shift, alongMm: bedHeightMm / 2, turnDegrees, mirrored: false }
    const scan: BedScan = {
      scanner: { ...SCANNER, ...more },
      bedWidthMm,
      bedHeightMm,
      film,
      placement,
      holder: null,
      seed: 5,
    }
    return writeScan(join(folder.path, name), scan, '2025-03-01T08:00:00')
  }
  const { film } = stepTablet({ densities: DENSITIES, stepMm: 3, widthMm: 7 })
  await lay('tablet.tif', film)
  await lay('off-the-glass.tif', film, {}, 30)
  await lay('too-bright.tif', film, { gain: 80_000 })
  await lay('blank.tif', { ...film, baseDensity: 0, netDensity: 0, shapes: [] })
  await lay('negative.tif', { ...film, shapes: film.shapes.map((s, i) => ({ ...s, ink: i % 2 })) })
  await lay('grey-edge.tif', { ...knifeEdge(30, 10), baseDensity: 1 }, {}, 0, 3)
  tablet = folder.put('tablet.csv', certificateCsv(DENSITIES, 0.01))
  // One good calibration stands there already: a refusal must leave it and its page as they are.
  expect(await run({})).toBe(0)
  kept = files()
  expect([...kept.keys()].filter(name => name.endsWith('.json'))).toHaveLength(1)
}, 60_000)
beforeEach(() => {
  running.said()
})
afterAll(async () => {
  await running.app.close()
  folder.remove()
})

const run = (more: { scan?: string; tablet?: string; edge?: string }) =>
  calibrateCommand(
    join(folder.path, more.scan ?? 'tablet.tif'),
    {
      workspace: 'shop',
      scanner: 'flatbed-a',
      tablet: more.tablet ?? tablet,
      ...(more.edge === undefined ? {} : { edge: join(folder.path, more.edge) }),
    },
    running.app,
  )

/** Every file below `scanners/` with the hash of its bytes. */
function files(): Map<string, string> {
  const root = join(folder.path, 'shop', 'scanners')
  const entries = readdirSync(root, { recursive: true, withFileTypes: true })
  return new Map(
    entries
      .filter(entry => entry.isFile())
      .map(entry => [join(entry.parentPath, entry.name), hash(join(entry.parentPath, entry.name))]),
  )
}

const hash = (file: string) => createHash('sha256').update(readFileSync(file)).digest('hex')

async function expectRefused(more: Parameters<typeof run>[0], code: ProblemCode): Promise<void> {
  await expect(run(more)).rejects.toMatchObject({ problem: { code } })
  expect(files()).toEqual(kept)
}

describe('calibrate refuses a tablet file, each fault with its own reason, and saves nothing', () => {
  const d = (i: number) => DENSITIES[i]!.toFixed(2)
  const cases: readonly (readonly [string, string, ProblemCode])[] = [
    ['empty', '', 'TABLET_CSV_EMPTY'],
    ['text', 'Dear sir,\nhere is the tablet.\n', 'TABLET_CSV_INVALID'],
    ['step 8 missing', lines(i => `${i + 1},${d(i)}`).replace('8,1.10\n', ''), 'TABLET_STEP_MISSING'],
    ['step 8 twice', lines(i => `${i === 8 ? 8 : i + 1},${d(i)}`), 'TABLET_STEP_TWICE'],
    ['densities from the dense end', lines(i => `${i + 1},${d(20 - i)}`), 'TABLET_CSV_ORDER'],
    ['numbers from the dense end', lines(i => `${21 - i},${d(i)}`), 'TABLET_CSV_ORDER'],
    ['two values swapped', lines(i => `${i + 1},${d(i === 4 ? 5 : i === 5 ? 4 : i)}`), 'TABLET_CSV_ORDER'],
    ['percent of light', lines(i => `${i + 1},${(100 * 10 ** -DENSITIES[i]!).toFixed(3)}`), 'TABLET_CSV_UNIT'],
    ['share of light', lines(i => `${i + 1},${(10 ** -DENSITIES[i]!).toFixed(5)}`), 'TABLET_CSV_UNIT'],
    ['hundredths', lines(i => `${i + 1},${Math.round(100 * DENSITIES[i]!)}`), 'TABLET_CSV_UNIT'],
    ['log exposure', lines(i => `${i + 1},${(-DENSITIES[i]!).toFixed(2)}`), 'TABLET_CSV_UNIT'],
    ['one density below 0', lines(i => `${i + 1},${i === 0 ? '-0.05' : d(i)}`), 'TABLET_CSV_INVALID'],
    ['NaN', lines(i => `${i + 1},${i === 6 ? 'NaN' : d(i)}`), 'TABLET_CSV_INVALID'],
    ['uncertainty for some steps', lines(i => `${i + 1},${d(i)}${i === 6 ? '' : ',0.02'}`), 'TABLET_CSV_INVALID'],
    ['a 31-step tablet', lines(i => `${i + 1},${(0.05 + 0.1 * i).toFixed(2)}`, 31), 'TABLET_STEP_COUNT'],
    ['a tablet of half the steps', lines(i => `${i + 1},${(0.05 + 0.08 * i).toFixed(2)}`), 'TABLET_STEP_COUNT'],
  ]
  for (const [name, text, code] of cases) it(name, () => expectRefused({ tablet: folder.put('bad.csv', text) }, code))

  it('but takes one that can be read one way only', async () => {
    const shop = folder.put(
      'german.csv',
      `\uFEFFStufe;Dichte\r\n${lines(i => `${21 - i};${d(20 - i).replace('.', ',')}`)}\r\n`,
    )
    mkdirSync(join(folder.path, 'second'))
    await initCommand('second/shop', running.app)
    const told = { workspace: 'second/shop', scanner: 'flatbed-a', tablet: shop, json: true }
    expect(await calibrateCommand(join(folder.path, 'tablet.tif'), told, running.app)).toBe(0)
    expect(running.json()[0].steps.map((step: { density: number }) => step.density)).toEqual(
      DENSITIES.map(value => Number(value.toFixed(2))),
    )
  })
})

describe('calibrate refuses scans, each with its own reason, and saves nothing', () => {
  it('a tablet partly off the glass', () => expectRefused({ scan: 'off-the-glass.tif' }, 'TABLET_STEP_COUNT'))
  it('a clipped scan', () => expectRefused({ scan: 'too-bright.tif' }, 'CALIBRATION_CLIPPED'))
  it('a blank scan', () => expectRefused({ scan: 'blank.tif' }, 'TABLET_NOT_FOUND'))
  it('another picture of stripes', async () => {
    await expect(run({ scan: 'negative.tif' })).rejects.toMatchObject({
      problem: { code: expect.stringMatching(/^TABLET_/) },
    })
    expect(files()).toEqual(kept)
  })
  it('no scan', () => expectRefused({ scan: 'none.tif' }, 'FILE_MISSING'))
  it('the tablet as its own edge', () => expectRefused({ edge: 'tablet.tif' }, 'EDGE_IS_TABLET'))
  it('an edge that is not opaque', () => expectRefused({ edge: 'grey-edge.tif' }, 'EDGE_NOT_FOUND'))
})

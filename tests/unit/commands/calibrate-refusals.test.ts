import { createHash } from 'node:crypto'
import { mkdirSync, readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import { calibrateCommand } from '../../../src/commands/calibrate.js'
import { initCommand } from '../../../src/commands/init.js'
import type { Film } from '../../../src/demo/film.js'
import { knifeEdge } from '../../../src/demo/knife-edge.js'
import { type BedScan, type DemoScanner, scanFilm, scanSize } from '../../../src/demo/scanner.js'
import { certificateCsv, evenSteps, stepTablet } from '../../../src/demo/tablet.js'
import { writeScan } from '../../../src/demo/write-scan.js'
import type { ProblemCode } from '../../../src/model/problem.js'
import { type Paint, paintedScan } from '../../support/painted-scan.js'
import { program } from '../../support/program.js'
import { QUICK_SCANNER } from '../../support/quick-scanner.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'
import { rational, writeTiff } from '../../support/tiff-writer.js'

const SCANNER = QUICK_SCANNER
const DENSITIES = evenSteps(21, 0.15)
const lines = (row: (i: number) => string, count = 21) => Array.from({ length: count }, (_, i) => row(i)).join('\n')

const TABLET = stepTablet({ densities: DENSITIES, stepMm: 3, widthMm: 7 }).film

/** A film in the middle of glass that is a little larger. */
function onGlass(film: Film, more: Partial<DemoScanner> = {}, shift = 0, turnDegrees = 0.5): BedScan {
  const [bedWidthMm, bedHeightMm] = [film.widthMm + 12, film.heightMm + 10]
  return {
    scanner: { ...SCANNER, ...more },
    bedWidthMm,
    bedHeightMm,
    film,
    placement: { acrossMm: bedWidthMm / 2 + shift, alongMm: bedHeightMm / 2, turnDegrees, mirrored: false },
    holder: null,
    seed: 5,
  }
}

let folder: ScanFolder
let running: ReturnType<typeof program>
let tablet: string
let kept: ReadonlyMap<string, string>

beforeAll(async () => {
  folder = scanFolder()
  running = program(folder.path)
  await initCommand('shop', running.app)
  const lay = (name: string, film: Film, more: Partial<DemoScanner> = {}, shift = 0, turnDegrees = 0.5) =>
    writeScan(join(folder.path, name), onGlass(film, more, shift, turnDegrees), '2025-03-01T08:00:00')
  const film = TABLET
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

async function expectRefused(more: Parameters<typeof run>[0], code: ProblemCode, words = /./): Promise<void> {
  await expect(run(more)).rejects.toMatchObject({ problem: { code, what: expect.stringMatching(words) } })
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

describe('calibrate refuses what lies on the tablet and what a driver does, each with its own reason, and saves nothing', () => {
  const black = SCANNER.black
  const dimmed = (code: number, share: number) => black + share * (code - black)
  /** Step n lies from 3 (n - 1) to 3 n mm along the tablet. */
  const cases: readonly (readonly [string, Paint, ProblemCode, RegExp])[] = [
    [
      'a clump of dust over two fifths of step 8',
      (u, v, code) =>
        u > 21.3 && u < 23.7 && (Math.floor(4 * u) + Math.floor(4 * v)) % 5 < 2 ? dimmed(code, 0.4) : code,
      'TABLET_STEP_DIRTY',
      /over \d\d % of step 8/,
    ],
    [
      'grime that dims step 8 evenly by a fifth',
      (u, _, code) => (u > 21 && u < 24 ? dimmed(code, 0.8) : code),
      'TABLET_STEP_DIRTY',
      /step 8 reads 0\.\d\d D denser/,
    ],
    [
      'a label over steps 5 to 7',
      (u, _, code) => (u > 12 && u < 21 ? dimmed(code, 0.15) : code),
      'TABLET_STEP_DIRTY',
      /steps 5, 6, 7 of 21/,
    ],
    [
      'a scratch that bares step 18',
      (u, _, code) => (Math.abs(u - 52.5) < 0.75 ? Math.max(code, 9000) : code),
      'CALIBRATION_NOT_MONOTONE',
      /step 18 is brighter than step 17/,
    ],
    ['levels stretched by automatic exposure', (_u, _v, code) => 1.2 * (code - 250), 'CALIBRATION_CLIPPED', /top code/],
    [
      '8-bit values in a 16-bit file',
      (_u, _v, code) => 257 * Math.round(code / 257),
      'CALIBRATION_EIGHT_BIT',
      /only \d+/,
    ],
  ]
  for (const [name, paint, code, words] of cases)
    it(name, async () => {
      folder.put('painted.tif', paintedScan(onGlass(TABLET), paint))
      await expectRefused({ scan: 'painted.tif' }, code, words)
    })

  it('two tablets that both fit the file', async () => {
    const net = DENSITIES.at(-1)!
    const two: Film = {
      ...TABLET,
      heightMm: 19,
      baseDensity: 0,
      netDensity: net,
      shapes: [0, 12].flatMap(v =>
        TABLET.shapes.map((shape, i) => ({ ...shape, v, ink: DENSITIES[i]! / net }) as (typeof TABLET.shapes)[number]),
      ),
    }
    folder.put(
      'two.tif',
      paintedScan(onGlass(two), (_u, _v, code) => code),
    )
    await expectRefused({ scan: 'two.tif' }, 'TABLET_TWICE', /21 steps of the file fit at two places/)
  })

  it('but reads a tablet that lies upside down, wrong side down, and with a hair across it, and says so', async () => {
    const scan = onGlass(TABLET, {}, 0, 180.5)
    const hair: Paint = (u, v, code) => (Math.abs(u - 22.5 - 0.2 * (v - 3.5)) < 0.1 ? dimmed(code, 0.1) : code)
    folder.put('upside.tif', paintedScan({ ...scan, placement: { ...scan.placement, mirrored: true } }, hair))
    await initCommand('third/shop', running.app)
    const told = { workspace: 'third/shop', scanner: 'flatbed-a', tablet, json: true }
    running.out.splice(0)
    expect(await calibrateCommand(join(folder.path, 'upside.tif'), told, running.app)).toBe(0)
    expect(running.said()).toContain('Dust, a hair or a scratch lies on step 8')
    const [{ steps }] = running.json()
    for (const { code, density } of steps)
      expect(Math.abs(code - black - SCANNER.gain * (10 ** -density + SCANNER.veil))).toBeLessThan(60)
  })
})

describe('calibrate refuses an edge, each fault with its own reason, and saves nothing', () => {
  const bar = { kind: 'rectangle', u: 0, v: 0, width: 5.5, height: 16 } as const
  /** Its ends are too short to be read. */
  const blade: Film = { ...knifeEdge(5.5, 16), baseDensity: 0, netDensity: 8, shapes: [bar] }
  /** A blade whose sides are bows of the given sag, mm. */
  const bowed = (sag: number): Film => ({
    ...blade,
    shapes: Array.from({ length: 80 }, (_, i) => {
      const t = (i + 0.5) / 80
      return { ...bar, u: 0.2 + 4 * sag * t * (1 - t), v: 0.2 * i, width: 5, height: 0.2 }
    }),
  })
  const nicks = Array.from({ length: 32 }, (_, i) => ({ ...bar, v: 0.5 * i + 0.1, width: 0.3, height: 0.2, ink: -1 }))
  const nicked = { ...blade, shapes: [bar, ...nicks, ...nicks.map(nick => ({ ...nick, u: 5.2 }))] }
  const cases: readonly (readonly [string, BedScan, ProblemCode, RegExp])[] = [
    ['bowed by a tenth', onGlass(bowed(0.1), {}, 0, 3), 'EDGE_NOT_STRAIGHT', /bends by \d+ um/],
    ['nicked', onGlass(nicked, {}, 0, 3), 'EDGE_NOT_STRAIGHT', /./],
    ['not turned at all', onGlass(blade, {}, 0, 0), 'EDGE_NOT_TURNED', /turned by 0\.00 degrees/],
    ['clipped', onGlass(blade, { gain: 75_000 }, 0, 3), 'EDGE_CLIPPED', /% of open light/],
    ['at half the dpi', onGlass(blade, { dpi: 125 }, 0, 3), 'EDGE_OTHER_SETTING', /125 dpi and not 250/],
  ]
  for (const [name, scan, code, words] of cases)
    it(name, async () => {
      folder.put(
        'edge.tif',
        paintedScan(scan, (_u, _v, value) => value),
      )
      await expectRefused({ edge: 'edge.tif' }, code, words)
    })

  it('sharpened', async () => {
    const scan = onGlass(blade, {}, 0, 3)
    const { width } = scanSize(scan)
    const plain = scanFilm(scan).codes
    let i = 0
    const mean = (at: number) =>
      (plain[at - 1]! + plain[at]! + plain[at + 1]! + plain[at - width]! + plain[at + width]!) / 5
    const sharp: Paint = (_u, _v, code) => {
      const at = i++
      return at > width && at < plain.length - width - 1 ? code + 0.8 * (code - mean(at)) : code
    }
    folder.put('edge.tif', paintedScan(scan, sharp))
    await expectRefused({ edge: 'edge.tif' }, 'EDGE_SHARPENED', /above open light/)
  })

  it('at other bits', async () => {
    const { width, height } = scanSize(onGlass(blade, {}, 0, 3))
    const data = Array.from(scanFilm(onGlass(blade, {}, 0, 3)).codes, code => Math.round(code / 257))
    folder.put(
      'edge.tif',
      writeTiff({ width, height, data, bits: 8, tags: { 282: rational(250, 1), 283: rational(250, 1) } }),
    )
    await expectRefused({ edge: 'edge.tif' }, 'EDGE_OTHER_SETTING', /8 bits and not 16/)
  })
})

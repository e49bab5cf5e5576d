import { spawnSync } from 'node:child_process'
import { copyFileSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { writeCalibration } from '../../src/calibrate/calibration-file.js'
import type { BedScan, DemoScanner } from '../../src/demo/scanner.js'
import { writeScan } from '../../src/demo/write-scan.js'
import { calibratedScanner } from '../support/calibrated-scanner.js'
import { type ScanFolder, scanFolder } from '../support/scan-folder.js'

const CLI = fileURLToPath(new URL('../../src/cli.ts', import.meta.url))
const TSX = import.meta.resolve('tsx')
const DENSITY = 3.8

const scanner: DemoScanner = {
  maker: 'Tidewater',
  model: 'flatbed-r',
  dpi: 600,
  scaleErrorAcross: 0,
  scaleErrorAlong: 0,
  blurAcrossUm: 20,
  blurAlongUm: 22,
  black: 300,
  gain: 56_000,
  gamma: 1.4,
  veil: 0.0001,
  readNoise: 12,
  shotNoise: 150,
  flare: 0,
  flareReachMm: 10,
  shading: 0,
  lamp: 1,
}

/** The film of clear base and two solids; `moved` lays another film. */
function bed(exposure: number, seed: number, moved = 0): BedScan {
  return {
    scanner: { ...scanner, exposure },
    bedWidthMm: 32,
    bedHeightMm: 20,
    film: {
      widthMm: 22,
      heightMm: 14,
      baseDensity: 0.05,
      netDensity: DENSITY - 0.05,
      inkSpreadUm: 25,
      shapes: [
        { kind: 'rectangle', u: 2, v: 2, width: 7 + moved, height: 9 - moved },
        { kind: 'rectangle', u: 12 + moved, v: 3, width: 7, height: 8 },
      ],
    },
    placement: { acrossMm: 18 + 0.02 * seed, alongMm: 10 - 0.03 * seed, turnDegrees: 2, mirrored: false },
    holder: { side: 'left', widthMm: 3 },
    seed,
  }
}

let folder: ScanFolder
const at = (...parts: string[]) => join(folder.path, ...parts)

function burngate(...args: string[]) {
  const { status, stdout, stderr } = spawnSync(process.execPath, ['--import', TSX, CLI, ...args], {
    cwd: folder.path,
    encoding: 'utf8',
  })
  return {
    status,
    stdout,
    stderr,
    json: () =>
      stdout
        .trim()
        .split('\n')
        .map(line => JSON.parse(line)),
  }
}

const bracket = (...scans: string[]) =>
  burngate(
    'inspect',
    ...scans,
    '--bracket',
    '--workspace',
    'shop',
    '--scanner',
    'flatbed-r',
    '--job-type',
    'fine-line',
    '--json',
  )

/** Everything kept: reports, archive and rejected, but the board. */
const kept = () =>
  ['reports', 'archive', 'rejected']
    .flatMap(name => {
      try {
        return readdirSync(at('shop', name), { recursive: true }).map(String)
      } catch {
        return []
      }
    })
    .filter(name => !['index.html', 'process.html'].includes(name))

beforeAll(async () => {
  folder = scanFolder()
  expect(burngate('init', 'shop').status).toBe(0)
  mkdirSync(at('shop', 'scanners'), { recursive: true })
  const calibration = calibratedScanner(scanner, 5, { stepMm: 2 })
  await writeCalibration(at('shop', 'scanners'), {
    ...calibration,
    calibratedAt: new Date(Date.now() - 3_600_000).toISOString(),
  })
  // Numbered from the longest exposure down: the order is nobody's business.
  for (const [name, exposure, seed, moved] of [
    ['front__bracket-3.tif', 1, 0, 0],
    ['front__bracket-2.tif', 4.2, 1, 0],
    ['front__bracket-1.tif', 15, 2, 0],
    ['again.tif', 1, 3, 0],
    ['other.tif', 4.2, 4, 2.5],
  ] as const)
    await writeScan(at(name), bed(exposure, seed, moved), '2026-03-01T10:22:00')
}, 120_000)
afterAll(() => folder.remove())

describe('inspect SCAN... --bracket', () => {
  it('says what is no bracket, each with its own code, status 3, and keeps nothing', () => {
    copyFileSync(at('front__bracket-3.tif'), at('copy.tif'))
    writeFileSync(at('one.tif'), readFileSync(at('front__bracket-3.tif')))
    const before = kept()
    for (const [scans, code] of [
      [['one.tif'], 'BRACKET_ONE_SCAN'],
      [['one.tif', 'copy.tif'], 'BRACKET_SAME_EXPOSURE'],
      [['one.tif', 'again.tif'], 'BRACKET_SAME_EXPOSURE'],
      [['one.tif', 'other.tif'], 'BRACKET_FILMS_DIFFER'],
      [['front__bracket-1.tif', 'front__bracket-2.tif'], 'BRACKET_CLIPPED'],
    ] as const) {
      const { status, json } = bracket(...scans)
      expect([status, json()]).toMatchObject([3, [{ schema: 'burngate/problem@1', code }]])
    }
    expect(kept()).toEqual(before)
  }, 120_000)

  it('joins them in any order to one record that names every scan, and a page that says how deep it reached', () => {
    const first = bracket('front__bracket-1.tif', 'front__bracket-2.tif', 'front__bracket-3.tif')
    const [record, ...more] = first.json()
    expect(more).toEqual([])
    expect(record).toMatchObject({
      positive: 'front',
      scan: {
        file: 'front__bracket-3.tif',
        bracket: [{ file: 'front__bracket-1.tif' }, { file: 'front__bracket-2.tif' }],
      },
    })
    const { exposure, expanded } = record.scan.bracket[0]
    // One draw: two in three lie within half of U, one in twenty outside it, hardly any outside 1.5 U.
    expect(Math.abs(exposure - 15)).toBeLessThanOrEqual(1.5 * expanded)
    const { value, expanded: u, bound, budget } = record.readings.solidDensity
    // The calibration saw little that is opaque: flare may hide D 3.8, and then the answer is a bound that holds.
    if (bound === null) expect(Math.abs(value - DENSITY)).toBeLessThanOrEqual(Math.min(u, 0.05))
    else {
      expect(bound).toBe('atLeast')
      expect(value).toBeLessThanOrEqual(DENSITY)
      expect(value).toBeGreaterThan(3)
    }
    expect(budget.map((c: { name: string }) => c.name)).toContain('ratio')
    expect(record.scan.deepest).toBeGreaterThan(record.scanner.deepest)
    expect(first.status).toBe({ pass: 0, fail: 1, recheck: 2 }[record.verdict as 'pass' | 'fail' | 'recheck'])

    const html = readFileSync(at('shop', 'reports', `front__${record.id}.html`), 'utf8')
    for (const text of [
      'front__bracket-1.tif at 1',
      'at the exposure of the calibration',
      `to D ${record.scan.deepest.toFixed(1)}`,
    ])
      expect(html).toContain(text)
    const archive = readdirSync(at('shop', 'archive'), { recursive: true }).map(String)
    expect(archive.filter(name => name.endsWith('.tif'))).toHaveLength(3)

    const again = bracket('front__bracket-3.tif', 'front__bracket-1.tif', 'front__bracket-2.tif')
    expect(again.json()[0].id).toBe(record.id)
  }, 120_000)

  it('the inbox joins them as well: one inspection, the inbox empty, every scan archived', () => {
    for (const n of [1, 2, 3])
      copyFileSync(at(`front__bracket-${n}.tif`), at('shop', 'inbox', `back__bracket-${n}.tif`))
    const { json, status } = burngate('watch', '--once', '--workspace', 'shop', '--json')
    expect(json()).toMatchObject([{ positive: 'back', scan: { file: 'back__bracket-3.tif', bracket: [{}, {}] } }])
    expect([0, 1, 2]).toContain(status)
    expect(readdirSync(at('shop', 'inbox')).filter(name => name.endsWith('.tif'))).toEqual([])
  }, 120_000)
})

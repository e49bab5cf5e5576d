import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { writeCalibration } from '../../../src/calibrate/calibration-file.js'
import { initCommand } from '../../../src/commands/init.js'
import { inspectCommand } from '../../../src/commands/inspect.js'
import { blockText, hairLines, registerMark, solid } from '../../../src/demo/artwork.js'
import type { Film, Shape } from '../../../src/demo/film.js'
import { type BedScan, type DemoScanner, filmToPixel } from '../../../src/demo/scanner.js'
import { halfLightShift } from '../../../src/demo/truth.js'
import { writeScan } from '../../../src/demo/write-scan.js'
import type { Flaw } from '../../../src/model/flaw.js'
import type { FlawChanges } from '../../../src/model/growth.js'
import type { Inspection } from '../../../src/model/inspection.js'
import { measureScan } from '../../../src/pipeline/measure-scan.js'
import { calibratedScanner } from '../../support/calibrated-scanner.js'
import { program } from '../../support/program.js'
import { scanFolder } from '../../support/scan-folder.js'

const scanner: DemoScanner = {
  maker: 'Tidewater',
  model: 'flatbed-r',
  dpi: 600,
  scaleErrorAcross: 0.001,
  scaleErrorAlong: -0.002,
  blurAcrossUm: 18,
  blurAlongUm: 20,
  black: 300,
  gain: 56_000,
  gamma: 1.6,
  veil: 0,
  readNoise: 10,
  shotNoise: 120,
  flare: 0,
  flareReachMm: 10,
  shading: 0,
  lamp: 1,
}
const hole = (u: number, v: number, diameter: number): Shape => ({ kind: 'disc', u, v, radius: diameter / 2, ink: -1 })
const dust = (u: number, v: number, diameter: number): Shape => ({
  kind: 'disc',
  u,
  v,
  radius: diameter / 2,
  ink: 0.15,
})

const art: Shape[] = [
  solid(3, 3, 9, 7),
  ...hairLines(15, 3, 8, [0.12, 0.2, 0.4], 1.2),
  ...blockText('TIDE', 3, 13, 5),
  ...registerMark(27, 7, 2, 0.12),
  solid(22, 13, 9, 5),
]
/** There from the first day on. */
const OLD = hole(5, 5, 0.2)
const GONE = [dust(13.4, 8, 0.3), dust(31.6, 4, 0.25)]
const FLAKE = { u: 9, v: 7.5 }
const OPENED = { u: 24, v: 15 }
const SCRATCH = { u: 28, v: 15.5, lengthMm: 3 }
const film: Film = {
  widthMm: 34,
  heightMm: 22,
  baseDensity: 0.05,
  netDensity: 3,
  inkSpreadUm: 12,
  shapes: [...art, OLD, ...GONE],
}
const worn: Film = {
  ...film,
  shapes: [
    ...art,
    OLD,
    hole(FLAKE.u, FLAKE.v, 0.45),
    hole(OPENED.u, OPENED.v, 0.2),
    {
      kind: 'rectangle',
      u: SCRATCH.u - SCRATCH.lengthMm / 2,
      v: SCRATCH.v - 0.025,
      width: SCRATCH.lengthMm,
      height: 0.05,
      turn: 31,
      ink: -1,
    },
  ],
}
const bed = (of: Film, turnDegrees: number, mirrored: boolean, seed: number, off: number): BedScan => ({
  scanner,
  bedWidthMm: 40,
  bedHeightMm: 30,
  film: of,
  placement: { acrossMm: 20 + off, alongMm: 15 - off, turnDegrees, mirrored },
  holder: null,
  seed,
})
const later = bed(worn, 182.5, true, 2, 0.8)

const folder = scanFolder()
/** The record has their numbers; where each lies is in what was measured. */
let flaws: readonly Flaw[] = []
const it_ = program(folder.path, undefined, async request => {
  const measured = await measureScan(request, { tempDir: folder.path })
  flaws = measured.flaws?.list ?? []
  return measured
})
let told: Inspection & { growth: { flaws: FlawChanges } }

async function inspected(name: string, scan: BedScan, day: string): Promise<Inspection> {
  await writeScan(join(folder.path, name), scan, '2025-01-02T03:04:05')
  folder.put(`${name}.yaml`, `scannedAt: ${day}T10:00\n`)
  await inspectCommand([name], { workspace: 'shop', scanner: 'flatbed-r', jobType: 'bold', json: true }, it_.app)
  return it_.json()[0] as Inspection
}

beforeAll(async () => {
  expect(await initCommand('shop', it_.app)).toBe(0)
  await writeCalibration(join(folder.path, 'shop', 'scanners'), {
    ...calibratedScanner(scanner, 3),
    calibratedAt: '2025-01-02T09:00:00.000Z',
  })
  await inspected('P__1.tif', bed(film, 1.5, false, 1, 0), '2025-02-01')
  told = (await inspected('P__2.tif', later, '2025-02-20')) as typeof told
}, 120_000)
afterAll(async () => {
  await it_.app.close()
  folder.remove()
})

/** The film is laid on its baseline well within a quarter of a millimetre, and a flaw's middle is told to a pixel or two. */
const at = (flaw: Pick<Flaw, 'place'>, { u, v }: { u: number; v: number }) => {
  const { column, row } = filmToPixel(later, u, v)
  return Math.hypot(flaw.place.column - column, flaw.place.row - row) < 5
}

describe('flaws that came since the first scan, the film mirrored, turned and shifted', () => {
  it('names the flake, the scratch and the pinhole that opened as new, and nothing else', () => {
    const { fresh, grown, stayed } = told.growth.flaws
    const news = flaws.filter(flaw => fresh.includes(flaw.id))
    expect(news).toHaveLength(3)
    const one = (place: { u: number; v: number }) => news.find(flaw => at(flaw, place))
    expect(one(FLAKE)?.kind).toBe('pinhole')
    expect(one(OPENED)?.kind).toBe('pinhole')
    expect(one(SCRATCH)).toMatchObject({ kind: 'scratch' })
    expect(Math.abs(one(SCRATCH)!.lengthMm! - SCRATCH.lengthMm)).toBeLessThan(0.1 * SCRATCH.lengthMm)
    // Ink creeps into a hole from all round: its edge of half light lies so far within.
    const open = 450 - 2 * halfLightShift(worn)
    expect(Math.abs(one(FLAKE)!.diameterUm - open)).toBeLessThan(0.1 * open)
    expect(grown).toEqual([])
    expect(stayed).toBe(1)
  })

  it('says that dust of the first scan is gone, where it lay', () => {
    const { gone } = told.growth.flaws
    expect(gone.map(({ kind, possibleDust }) => ({ kind, possibleDust }))).toEqual([
      { kind: 'speck', possibleDust: true },
      { kind: 'speck', possibleDust: true },
    ])
    for (const place of [
      { u: 13.4, v: 8 },
      { u: 31.6, v: 4 },
    ])
      expect(gone.some(flaw => at(flaw, place))).toBe(true)
  })

  it('tells a person so on the page', () => {
    const reports = join(folder.path, 'shop', 'reports')
    const name = readdirSync(reports).find(
      file => file.endsWith('.html') && readFileSync(join(reports, file), 'utf8').includes('Gone: 2'),
    )
    const page = readFileSync(join(reports, name ?? 'none'), 'utf8').replaceAll('&nbsp;', ' ')
    expect(page).toMatch(/New \([^)]*\): /)
    expect(page).toContain('which were dust')
  })
})

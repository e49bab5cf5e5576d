import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import { calibrateCommand } from '../../../src/commands/calibrate.js'
import { initCommand } from '../../../src/commands/init.js'
import type { Film } from '../../../src/demo/film.js'
import { gridFilm } from '../../../src/demo/grid.js'
import { certificateCsv, evenSteps, stepTablet } from '../../../src/demo/tablet.js'
import { writeScan } from '../../../src/demo/write-scan.js'
import { program } from '../../support/program.js'
import { QUICK_SCANNER } from '../../support/quick-scanner.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'

const SCANNER = { ...QUICK_SCANNER, scaleErrorAcross: 0.003, scaleErrorAlong: -0.002 }

let folder: ScanFolder
let running: ReturnType<typeof program>
const options = { workspace: 'shop', scanner: 'flatbed-a', tablet: '' }

beforeAll(async () => {
  folder = scanFolder()
  running = program(folder.path)
  await initCommand('shop', running.app)
  const densities = evenSteps(21, 0.15)
  const lay = (name: string, film: Film, dpi = SCANNER.dpi) => {
    const [bedWidthMm, bedHeightMm] = [film.widthMm + 12, film.heightMm + 10]
    const placement = { acrossMm: bedWidthMm / 2, alongMm: bedHeightMm / 2, turnDegrees: 0.5, mirrored: false }
    const scan = { scanner: { ...SCANNER, dpi }, bedWidthMm, bedHeightMm, film, placement, holder: null, seed: 5 }
    return writeScan(join(folder.path, name), scan, '2025-03-01T08:00:00')
  }
  const grid = gridFilm({ pitchMm: 5, columns: 5, rows: 5, mark: 'crosses', markMm: 0.6, marginMm: 5 })
  await lay('tablet.tif', stepTablet({ densities, stepMm: 3, widthMm: 7 }).film)
  await lay('grid.tif', grid)
  await lay('grid-coarse.tif', grid, 125)
  options.tablet = folder.put('tablet.csv', certificateCsv(densities, 0.01))
}, 60_000)
beforeEach(() => {
  running.said()
})
afterAll(async () => {
  await running.app.close()
  folder.remove()
})

const run = (more: object = {}) =>
  calibrateCommand(join(folder.path, 'tablet.tif'), { ...options, ...more }, running.app)
const kept = () => readdirSync(join(folder.path, 'shop', 'scanners')).filter(name => name.endsWith('.json'))

describe('calibrate --grid', () => {
  it('wants scan and pitch together, and a pitch that can be', async () => {
    expect(await run({ grid: 'grid.tif' })).toBe(64)
    expect(running.said()).toContain('--grid needs --grid-pitch MM')
    expect(await run({ gridPitch: '5' })).toBe(64)
    expect(running.said()).toContain('--grid-pitch needs --grid SCAN')
    for (const gridPitch of ['five', '', '0.19', '101', 'NaN']) {
      expect(await run({ grid: 'grid.tif', gridPitch })).toBe(64)
      expect(running.said()).toContain('--grid-pitch is a number of millimetres, 0.2 to 100')
    }
    expect(kept()).toEqual([])
  })

  it('wants the uncertainty of the pitch with the pitch, and one that can be', async () => {
    expect(await run({ grid: 'grid.tif', gridPitchU: '0.001' })).toBe(64)
    expect(running.said()).toContain('--grid-pitch-u needs --grid SCAN and --grid-pitch MM')
    for (const gridPitchU of ['some', '', '-0.001', '0.0501', 'NaN']) {
      expect(await run({ grid: 'grid.tif', gridPitch: '5', gridPitchU })).toBe(64)
      expect(running.said()).toContain('--grid-pitch-u is a number of millimetres, 0 to 0.05 (1 % of the pitch)')
    }
    expect(kept()).toEqual([])
  })

  it('a grid that will not do leaves nothing saved', async () => {
    const grid = join(folder.path, 'grid-coarse.tif')
    await expect(run({ grid, gridPitch: '5' })).rejects.toMatchObject({ problem: { code: 'GRID_OTHER_SETTING' } })
    await expect(run({ grid: join(folder.path, 'tablet.tif'), gridPitch: '5' })).rejects.toMatchObject({
      problem: { code: expect.stringMatching(/^GRID_/) },
    })
    await expect(run({ grid: join(folder.path, 'none.tif'), gridPitch: '5' })).rejects.toMatchObject({
      problem: { code: 'FILE_MISSING' },
    })
    expect(kept()).toEqual([])
  })

  it('says the size of the pixels, keeps it and shows it on the page', async () => {
    expect(await run({ grid: join(folder.path, 'grid.tif'), gridPitch: '5', json: true })).toBe(0)
    expect(running.said()).toMatch(
      /by \+0\.(29[5-9]|30[0-5]) ± 0\.\d+ % across and -0\.(19[5-9]|20[0-5]) ± .*\(25 nodes\)/,
    )
    const [made] = running.json()
    expect(JSON.parse(readFileSync(join(folder.path, 'shop', 'scanners', kept()[0]!), 'utf8'))).toEqual(made)
    expect(made.size).toMatchObject({ pitchMm: 5, nodes: 25, dpi: { across: 250, along: 250 } })
    const page = readFileSync(join(folder.path, 'shop', 'scanners', kept()[0]!.replace(/json$/, 'html')), 'utf8')
    expect(page).toMatch(/Pixel across<\/dt><dd>101\.9\d\d µm, \+0\.(29[5-9]|30[0-5]) ±/)
    expect(page).toContain('Nodes lie off the even grid by up to')
  })

  it('without a grid the size of the calibration it replaces stays, and that is said', async () => {
    const grid = join(folder.path, 'grid.tif')
    expect(await run({ grid, gridPitch: '5', gridPitchU: '0.002', json: true })).toBe(0)
    const [before] = running.json()
    expect(before.size.pitchExpandedMm).toBe(0.002)
    running.said()
    expect(await run({ json: true })).toBe(0)
    const [after] = running.json()
    expect(after.size).toEqual(before.size)
    expect(running.said()).toContain('carried over from the calibration of')
  })
})

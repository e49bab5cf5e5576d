import { readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import { loadCalibrations } from '../../../src/calibrate/calibration-file.js'
import { calibrateCommand } from '../../../src/commands/calibrate.js'
import { initCommand } from '../../../src/commands/init.js'
import type { Film } from '../../../src/demo/film.js'
import { certificateCsv, evenSteps, stepTablet } from '../../../src/demo/tablet.js'
import { writeScan } from '../../../src/demo/write-scan.js'
import { program } from '../../support/program.js'
import { QUICK_SCANNER } from '../../support/quick-scanner.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'

const SCANNER = { ...QUICK_SCANNER, dpi: 200, fallOff: { across: 0.05, along: 0.01 } }
const NOTHING: Film = { widthMm: 1, heightMm: 1, baseDensity: 0, netDensity: 0, inkSpreadUm: 0, shapes: [] }

let folder: ScanFolder
let running: ReturnType<typeof program>
const options = { workspace: 'shop', scanner: 'flatbed-a', tablet: '' }
const scanners = () => join(folder.path, 'shop', 'scanners')
const kept = () => readdirSync(scanners()).filter(name => name.endsWith('.json'))
const at = (name: string) => join(folder.path, name)
const run = (flat: readonly string[], more: object = {}) =>
  calibrateCommand(at('tablet.tif'), { ...options, flat, ...more }, running.app)

beforeAll(async () => {
  folder = scanFolder()
  running = program(folder.path)
  await initCommand('shop', running.app)
  const densities = evenSteps(21, 0.15)
  const lay = (name: string, film: Film, dpi = SCANNER.dpi) => {
    const placement = { acrossMm: 45, alongMm: 20, turnDegrees: 0.5, mirrored: false }
    const scan = {
      scanner: { ...SCANNER, dpi },
      bedWidthMm: 90,
      bedHeightMm: 40,
      film,
      placement,
      holder: null,
      seed: 5,
    }
    return writeScan(at(name), scan, '2025-03-01T08:00:00')
  }
  const tablet = stepTablet({ densities, stepMm: 3, widthMm: 7 }).film
  await lay('tablet.tif', tablet)
  await lay('bare.tif', { ...NOTHING, widthMm: 0.05, heightMm: 0.05 })
  await lay('coarse.tif', NOTHING, 100)
  await lay('dense.tif', { ...NOTHING, widthMm: 120, heightMm: 80, baseDensity: 0.9 })
  options.tablet = folder.put('tablet.csv', certificateCsv(densities, 0.01))
}, 60_000)
beforeEach(() => {
  running.said()
  running.out.splice(0)
})
afterAll(() => folder.remove())

describe('calibrate --flat', () => {
  it('a flat scan that will not do leaves nothing saved', async () => {
    const refused = (flat: string) => expect(run([at(flat)])).rejects
    await refused('coarse.tif').toMatchObject({ problem: { code: 'FLAT_OTHER_SETTING' } })
    await refused('tablet.tif').toMatchObject({ problem: { code: expect.stringMatching(/^FLAT_(PRINTED|UNEVEN)/) } })
    await refused('dense.tif').toMatchObject({ problem: { code: 'FLAT_OTHER_EXPOSURE' } })
    await refused('none.tif').toMatchObject({ problem: { code: 'FILE_MISSING' } })
    expect(kept()).toEqual([])
  })

  it('says how even the glass is, keeps the map and shows it on the page', async () => {
    expect(await run([at('bare.tif')], { json: true })).toBe(0)
    const said = running.said()
    expect(said).toMatch(/Light on its glass differs from the mean by -\d\.\d to \+\d\.\d %.*scans 9\d\.\d mm wide/)
    expect(said).toContain('a second --flat, of an even dense film')
    const [made] = running.json()
    const file = join(scanners(), kept()[0]!)
    expect(JSON.parse(readFileSync(file, 'utf8'))).toEqual(made)
    expect(made.flat).toMatchObject({ scans: [{ kind: 'open' }], lateral: { measured: false } })
    const page = readFileSync(file.replace(/json$/, 'html'), 'utf8')
    expect(page).toContain('Across the glass')
    expect(page).toMatch(/<dt>Scanned<\/dt><dd>the bare glass<\/dd>/)
    expect(page).toContain('Light over the glass against its mean')
    expect(page).toContain('not measured: may read up to 3.5 % too deep')
  })

  it('is read again as it was written, and refused when it was meddled with', async () => {
    const file = join(scanners(), kept()[0]!)
    const text = readFileSync(file, 'utf8')
    const { flat } = JSON.parse(text)
    const read = async (change: object) => {
      writeFileSync(file, JSON.stringify({ ...JSON.parse(text), flat: { ...flat, ...change } }))
      const { calibrations, unusable } = await loadCalibrations(scanners())
      return calibrations.length === 1 ? calibrations[0]!.calibration.flat : unusable[0]!.error.problem.what
    }
    expect(await read({})).toEqual(flat)
    expect(await read({ tested: { ...flat.tested, right: flat.widthMm + 1 } })).toMatch(/tested must lie within/)
    expect(await read({ standard: 0 })).toMatch(/flat/)
    expect(await read({ terms: [] })).toMatch(/flat/)
    writeFileSync(file, text)
  })

  it('twice, with a dense film, measures the lateral artefact; none at all says so on the page', async () => {
    expect(await run([at('bare.tif'), at('dense.tif')], { json: true })).toBe(0)
    expect(running.said()).toMatch(/Film reads [+-]\d\.\d ± \d\.\d % denser 100 mm from the mid-line/)
    const [made] = running.json()
    expect(made.flat.lateral.measured).toBe(true)
    expect(Math.abs(made.flat.lateral.share)).toBeLessThan(2 * made.flat.lateral.standard)
    expect(await run([])).toBe(0)
    const page = readFileSync(join(scanners(), kept()[0]!.replace(/json$/, 'html')), 'utf8')
    expect(page).toContain('No flat scan was given')
  })
})

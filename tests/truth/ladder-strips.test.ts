import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { type App, createApp } from '../../src/app.js'
import { writeCalibration } from '../../src/calibrate/calibration-file.js'
import { demoStep } from '../../src/demo/ladder.js'
import { filmRise } from '../../src/demo/truth.js'
import { calibratedScanner } from '../support/calibrated-scanner.js'
import { printAndScan } from '../support/printed-ladder.js'
import { QUICK_SCANNER } from '../support/quick-scanner.js'
import { type ScanFolder, scanFolder } from '../support/scan-folder.js'

/**
 * Sheets as `ladder sheet` writes them, printed and scanned by make-believe, and read by the codes of their strips: the file names say nothing.
 * Truth is what was printed. What recommendations are worth over many ladders is in ladder.test.ts, at data level.
 */
const PLAN = `name: spring
jobType: solid
stocks: [stock-a]
modes:
  - { name: fast, dpi: [720, 720], directions: 2, minutes: 1 }
  - { name: fine, dpi: [720, 360], directions: 1, minutes: 4 }
levels: [4, 9]
ramp: true
paper: { width: 160, height: 81 }
`
const STOCK = { baseDensity: 0.06, ceiling: 3.3, thirst: 3.4, hold: 20, spreadUm: 22 }
const MODE = { ink: 0.9, banding: 0, raggednessUm: 0 }
const scanner = { ...QUICK_SCANNER, dpi: 400, blurAcrossUm: 20, blurAlongUm: 24, gamma: 1.8 }

let folder: ScanFolder
let app: App
beforeAll(async () => {
  folder = scanFolder()
  app = createApp({
    terminal: { out: () => {}, say: () => {}, isTTY: false },
    cwd: folder.path,
    now: () => new Date('2026-03-02T12:00:00Z'),
    tick: () => performance.now(),
    stopSignal: () => new AbortController().signal,
    debug: true,
  })
  await app.initWorkspace('shop')
  folder.put(
    'shop/job-types/solid.yaml',
    'name: solid\nlimits:\n  solidDensity: { min: 2.7 }\n  riseWidth: { max: 120 }\n',
  )
  folder.put('plan.yaml', PLAN)
  await writeCalibration(join(folder.path, 'shop/scanners'), calibratedScanner(scanner, 71))
}, 120_000)
afterAll(async () => {
  await app.close()
  folder.remove()
})

describe('a ladder of strips, printed, scanned, and read by its codes', () => {
  it('reads every strip of a sheet as what it was printed at, whatever the file is called', {
    timeout: 300_000,
  }, async () => {
    const shop = join(folder.path, 'shop')
    const { plan } = await app.planLadder('plan.yaml', shop)
    const { files } = await app.writeLadderSheets('plan.yaml', { folder: shop, out: 'sheets', each: false })
    expect(files).toHaveLength(2)
    const truth = [4, 9].map(level => demoStep(STOCK, MODE, level))
    await printAndScan(
      files[0]!,
      join(folder.path, 'stock-a__fine__4.tif'),
      plan,
      truth,
      { scanner, turnDegrees: -1.3, mirrored: true, seed: 60 },
      join(folder.path, 'tmp'),
    )
    const { result, unread, notes } = await app.readLadder(
      { plan: 'plan.yaml', scans: ['stock-a__fine__4.tif'], scanner: null },
      { folder: shop },
    )
    expect(unread).toEqual([])
    expect(notes).toEqual([
      'Scan stock-a__fine__4.tif: its name says mode fine, its strips say fast; the strips count.',
      'Scan stock-a__fine__4.tif: its name says level 4, its strips say 4, 9; the strips count.',
    ])
    expect(result.steps.map(({ mode, level, verdict }) => [mode, level, verdict])).toEqual([
      ['fast', 4, 'fail'],
      ['fast', 9, 'pass'],
    ])
    expect(result.missing).toEqual([4, 9].map(level => ({ stock: 'stock-a', mode: 'fine', level })))
    expect(result.recommended).toMatchObject({ mode: 'fast', level: 9 })
    result.steps.forEach(({ readings, crop }, i) => {
      const { baseDensity, netDensity } = truth[i]!
      const edge = { baseDensity, netDensity, inkSpreadUm: truth[0]!.inkSpreadUm }
      const { solidDensity, riseWidth, inkSpread } = readings
      // Both strips lie on one film, so both have the spread of the first.
      for (const [reading, truly] of [
        [solidDensity!, baseDensity + netDensity],
        [riseWidth!, filmRise(edge)],
        [inkSpread!, edge.inkSpreadUm],
      ] as const)
        expect(Math.abs(reading.value - truly)).toBeLessThanOrEqual(1.6 * reading.expanded)
      for (const name of ['lineGain', 'toneValueError', 'bandingAmplitude', 'mottle'] as const)
        expect(readings[name], name).toBeDefined()
      expect(crop).not.toBeNull()
    })
  })
})

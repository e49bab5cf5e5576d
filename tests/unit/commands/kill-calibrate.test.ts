import { spawn } from 'node:child_process'
import { readdirSync, readFileSync, watch } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { parseCalibration } from '../../../src/calibrate/calibration-file.js'
import { initCommand } from '../../../src/commands/init.js'
import { certificateCsv, evenSteps, stepTablet } from '../../../src/demo/tablet.js'
import { writeScan } from '../../../src/demo/write-scan.js'
import { program } from '../../support/program.js'
import { QUICK_SCANNER } from '../../support/quick-scanner.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'

const CLI = fileURLToPath(new URL('../../../src/cli.ts', import.meta.url))

let folder: ScanFolder
let scanners: string
beforeAll(async () => {
  folder = scanFolder()
  const { app } = program(folder.path)
  await initCommand('shop', app)
  await app.close()
  scanners = join(folder.path, 'shop', 'scanners')
  const densities = evenSteps(21, 0.15)
  folder.put('tablet.csv', certificateCsv(densities, 0.01))
  const { film } = stepTablet({ densities, stepMm: 3, widthMm: 7 })
  const [bedWidthMm, bedHeightMm] = [film.widthMm + 12, film.heightMm + 10]
  const placement = { acrossMm: bedWidthMm / 2, alongMm: bedHeightMm / 2, turnDegrees: 0.5, mirrored: false }
  const scan = { scanner: QUICK_SCANNER, bedWidthMm, bedHeightMm, film, placement, holder: null, seed: 5 }
  await writeScan(join(folder.path, 'tablet.tif'), scan, '2025-03-01T08:00:00')
})
afterAll(() => folder.remove())

/** Calibrates in a process of its own; killed at the n-th change in scanners/, or left to end. Its exit status, null when killed. */
function calibrate(killAt: number | null): Promise<number | null> {
  const at = (name: string) => join(folder.path, name)
  const told = ['--workspace', at('shop'), '--scanner', 'flatbed-a', '--tablet', at('tablet.csv')]
  const child = spawn(process.execPath, ['--import', 'tsx', CLI, 'calibrate', at('tablet.tif'), ...told], {
    stdio: 'ignore',
  })
  let changes = 0
  const watcher = watch(scanners, () => {
    if (++changes === killAt) child.kill('SIGKILL')
  })
  return new Promise(resolve =>
    child.on('close', code => {
      watcher.close()
      resolve(code)
    }),
  )
}

/** Every calibration that is kept can be read as a whole. */
function kept(): string[] {
  const names = readdirSync(scanners).filter(name => name.endsWith('.json'))
  for (const name of names) {
    const text = readFileSync(join(scanners, name), 'utf8')
    expect(parseCalibration(text, name).scanner).toBe('flatbed-a')
  }
  return names
}

describe('calibrate that is killed while it writes', () => {
  it('keeps a whole calibration or none, and the next run is whole', async () => {
    for (const killAt of [1, 2]) {
      expect(await calibrate(killAt)).toBe(null)
      expect(kept().length).toBeLessThanOrEqual(1)
    }
    expect(await calibrate(null)).toBe(0)
    expect(kept()).toHaveLength(1)
  })
})

import { existsSync, mkdirSync, readFileSync, utimesSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { loadCalibrations, writeCalibration } from '../../../src/calibrate/calibration-file.js'
import { mendCalibrationPages } from '../../../src/pipeline/mend-calibration-pages.js'
import { sampleCalibration } from '../../support/sample-inspection.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'

let folder: ScanFolder
beforeEach(() => {
  folder = scanFolder()
})
afterEach(() => folder.remove())

describe('mendCalibrationPages', () => {
  it('writes the page that a crash kept from being written, or left as it was before, and then leaves it alone', async () => {
    const scanners = join(folder.path, 'scanners')
    const file = await writeCalibration(scanners, sampleCalibration())
    const page = file.replace(/\.json$/, '.html')
    const mend = async () => mendCalibrationPages((await loadCalibrations(scanners)).calibrations)

    expect((await mend()).map(found => [found.state, found.says])).toEqual([
      ['ok', expect.stringContaining('had no page; it was written again')],
    ])
    expect(readFileSync(page, 'utf8')).toContain(sampleCalibration().scanner)
    expect(await mend()).toEqual([])

    writeFileSync(page, 'an earlier page')
    utimesSync(page, new Date(0), new Date(0))
    expect((await mend())[0]!.says).toContain('had the page of an earlier one')
    expect(readFileSync(page, 'utf8')).not.toContain('an earlier page')
  })

  it('names a page that cannot be written', async () => {
    const scanners = join(folder.path, 'scanners')
    const file = await writeCalibration(scanners, sampleCalibration())
    const page = file.replace(/\.json$/, '.html')
    mkdirSync(page)
    utimesSync(page, new Date(0), new Date(0))
    const found = await mendCalibrationPages((await loadCalibrations(scanners)).calibrations)
    expect(found).toMatchObject([{ state: 'warn', says: expect.stringContaining('has no page of its own') }])
    expect(existsSync(file)).toBe(true)
  })
})

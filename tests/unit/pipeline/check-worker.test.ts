import { existsSync, utimesSync } from 'node:fs'
import { join } from 'node:path'
import sharp from 'sharp'
import { afterAll, describe, expect, it } from 'vitest'
import { removeUnpacked } from '../../../src/decode/unpacked-picture.js'
import check from '../../../src/pipeline/check-worker.js'
import { lookForStrip } from '../../../src/pipeline/look-for-strip.js'
import { scanFolder } from '../../support/scan-folder.js'

const folder = scanFolder()
afterAll(() => folder.remove())
const tempDir = join(folder.path, 'tmp')

/** More than is unpacked again each time it is read. */
const SIDE = 5900

describe('the check of a packed scan', () => {
  it('leaves what it unpacked to the look, which takes it only while the file is as it was', async () => {
    const file = join(folder.path, 'large.tif')
    const codes = new Uint16Array(SIDE * SIDE).fill(40_000)
    await sharp(codes, { raw: { width: SIDE, height: SIDE, channels: 1 }, limitInputPixels: false })
      .toColourspace('grey16')
      .tiff({ compression: 'lzw', xres: 600 / 25.4, yres: 600 / 25.4, resolutionUnit: 'inch' })
      .toFile(file)
    const { problem, unpacked } = await check({ file, channel: 'grey', tempDir })
    expect(problem).toBeNull()
    expect(existsSync(unpacked!.path)).toBe(true)
    const request = { file, channel: 'grey', dpi: null, calibration: null, unpacked: unpacked! } as const
    const taken = await lookForStrip(request, tempDir)
    expect(taken.overview!.unpacked).toBe(unpacked!.path)
    utimesSync(file, 1000, 1000)
    const anew = await lookForStrip(request, tempDir)
    expect(anew.overview!.unpacked).not.toBe(unpacked!.path)
    for (const path of [unpacked!.path, anew.overview!.unpacked!]) removeUnpacked(path)
  })

  it('answers what is wrong with a file that went away', async () => {
    const gone = await check({ file: join(folder.path, 'none.tif'), channel: 'grey', tempDir })
    expect(gone).toMatchObject({ problem: { code: 'FILE_MISSING' } })
  })
})

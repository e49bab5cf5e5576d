import { mkdtemp, readFile, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import sharp from 'sharp'
import { decode } from 'tiff'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { knifeEdge } from '../../../src/demo/knife-edge.js'
import { type BedScan, scanFilm } from '../../../src/demo/scanner.js'
import { demoScans } from '../../../src/demo/shop.js'
import { writeScan } from '../../../src/demo/write-scan.js'

let dir: string
beforeAll(async () => {
  dir = await mkdtemp(join(tmpdir(), 'demo-scan-'))
})
afterAll(() => rm(dir, { recursive: true }))

const scan: BedScan = {
  ...demoScans()[1]!.scan,
  film: knifeEdge(4, 3),
  bedWidthMm: 9,
  bedHeightMm: 6.1,
  placement: { acrossMm: 4.5, alongMm: 3, turnDegrees: 2, mirrored: false },
}

describe('writeScan', () => {
  it('two other readers find exactly the codes, and the tags', async () => {
    const file = join(dir, 'knife.tif')
    await writeScan(file, scan, '2026-02-13T08:11:42')
    const wanted = scanFilm(scan)

    const [page] = decode(await readFile(file))
    expect(page!.width).toBe(wanted.width)
    expect(page!.height).toBe(wanted.height)
    expect(page!.bitsPerSample).toBe(16)
    expect(new Uint16Array(page!.data)).toEqual(wanted.codes)
    expect([page!.xResolution, page!.yResolution, page!.resolutionUnit]).toEqual([1200, 1200, 2])
    expect(page!.dateTime).toBe('2026:02:13 08:11:42')
    expect([page!.get('Make'), page!.get('Model')]).toEqual(['Tidewater', 'flatbed-a'])

    const { data } = await sharp(file, { ignoreIcc: true })
      .pipelineColourspace('grey16')
      .toColourspace('grey16')
      .raw({ depth: 'ushort' })
      .toBuffer({ resolveWithObject: true })
    expect(new Uint16Array(data.buffer, data.byteOffset, data.byteLength / 2)).toEqual(wanted.codes)
  })

  it('the same scan gives the same bytes', async () => {
    await writeScan(join(dir, 'a.tif'), scan, '2026-02-13T08:11:42')
    await writeScan(join(dir, 'b.tif'), scan, '2026-02-13T08:11:42')
    expect((await readFile(join(dir, 'a.tif'))).equals(await readFile(join(dir, 'b.tif')))).toBe(true)
  })

  it('refuses a date of another form and a page of 4 GB', async () => {
    await expect(writeScan(join(dir, 'c.tif'), scan, '13.02.2026')).rejects.toThrow('YYYY-MM-DDTHH:MM:SS')
    const huge = { ...scan, bedWidthMm: 1200, bedHeightMm: 1200 }
    await expect(writeScan(join(dir, 'c.tif'), huge, '2026-02-13T08:11:42')).rejects.toThrow('4 GB')
  })
})

import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { inspectCommand } from '../../../src/commands/inspect.js'
import { seededRandom } from '../../../src/demo/random.js'
import { writeSeparation } from '../../../src/demo/separation.js'
import { writeScan } from '../../../src/demo/write-scan.js'
import type { ArtworkBitmap } from '../../../src/model/artwork.js'
import type { Inspection } from '../../../src/model/inspection.js'
import { measureScan } from '../../../src/pipeline/measure-scan.js'
import { artworkFilm } from '../../support/artwork-film.js'
import { program } from '../../support/program.js'
import { scanFolder } from '../../support/scan-folder.js'
import { writeTiff } from '../../support/tiff-writer.js'

const folder = scanFolder()
const plan = { artworkDpi: { across: 720, along: 720 }, scanDpi: 600, cells: [2, 2], only: [0, 1, 3, 5, 6] } as const
const film = artworkFilm({ ...plan, seed: 81, turned: 3, mirrored: false })
const it_ = program(folder.path, new Date('2026-11-25T12:00:00Z'), (request, tempDir) =>
  measureScan(request, { tempDir }),
)

/** The artwork with its pixels taken from elsewhere; clear beyond its rim. */
function moved(art: ArtworkBitmap, width: number, height: number, from: (c: number, r: number) => [number, number]) {
  const rowBytes = (width + 7) >> 3
  const bits = new Uint8Array(rowBytes * height)
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++) {
      const [x, y] = from(c, r)
      const on = x >= 0 && y >= 0 && x < art.width && y < art.height
      if (on && (art.bits[y * art.rowBytes + (x >> 3)]! & (0x80 >> (x & 7))) !== 0)
        bits[r * rowBytes + (c >> 3)]! |= 0x80 >> (c & 7)
    }
  return { ...art, width, height, rowBytes, bits }
}

/** A page of 14 x 11 mm at 600 dpi, uncompressed. */
function page(name: string, code: (random: () => number) => number): void {
  const random = seededRandom(7)
  const dpi = { type: 'rational', values: [600, 1] } as const
  const data = Uint16Array.from({ length: 330 * 260 }, () => code(() => random.uniform()))
  folder.put(
    name,
    writeTiff({ width: 330, height: 260, data, tags: { 282: dpi, 283: dpi, 296: { type: 'short', values: [2] } } }),
  )
}

beforeAll(async () => {
  await writeScan(join(folder.path, 'film.tif'), film.scan, '2026-11-25T10:00:00')
  const { artwork } = film
  const { width, height } = artwork
  const put = (name: string, art: ArtworkBitmap) => writeSeparation(join(folder.path, name), art)
  await put('right.tif', artwork)
  await put('other.tif', artworkFilm({ ...plan, seed: 92 }).artwork)
  await put(
    'turned.tif',
    moved(artwork, height, width, (c, r) => [r, height - 1 - c]),
  )
  // The same once more beside it: twice as wide as the film.
  await put(
    'larger.tif',
    moved(artwork, 2 * width, height, (c, r) => [c % width, r]),
  )
  const whole = readFileSync(join(folder.path, 'right.tif'))
  folder.put('cut.tif', whole.subarray(0, whole.length >> 1))
  page('black.tif', random => 40 + 20 * random())
  page('clear.tif', random => 50_000 + 300 * random())
  page('bare.tif', random => 65_000 + 300 * random())
  page('noise.tif', random => 65_535 * random())
})
afterAll(async () => {
  await it_.app.close()
  folder.remove()
})

async function inspected(scan: string, artwork: string): Promise<{ status: number; record: Inspection }> {
  const status = await inspectCommand([scan], { json: true, artwork }, it_.app)
  return { status, record: it_.json()[0] as Inspection }
}
const says = ({ findings, notes }: Inspection) => JSON.stringify([findings, notes])

describe('artwork that is not the film’s, and films that are none', () => {
  it('says that it belongs to another job, once, and tells no ink from it', async () => {
    const { status, record } = await inspected('film.tif', 'other.tif')
    expect(status).toBe(2)
    expect(record.artwork).toMatchObject({ matches: false, turned: null })
    expect(says(record)).toContain('This is not the artwork of this film')
    expect(record.readings).not.toHaveProperty('missingInk')
    expect(record.readings).not.toHaveProperty('sizeErrorAcross')
  })

  it('lays an artwork that was saved a quarter turn round as it lies', async () => {
    const { record } = await inspected('film.tif', 'turned.tif')
    expect(record.artwork).toMatchObject({ matches: true, mirrored: false })
    expect(Math.abs(record.artwork!.turned! + 87)).toBeLessThan(0.02)
    expect([record.readings.missingInk!.value, record.readings.extraInk!.value]).toEqual([0, 0])
  })

  it('says that an artwork is larger than the film, and calls nothing missing that lies beyond it', async () => {
    const { record } = await inspected('film.tif', 'larger.tif')
    expect(says(record)).toMatch(/Only \d+ % of the artwork’s ink has film under it/)
    expect(record.readings.missingInk!.value).toBe(0)
  })

  it('refuses an artwork cut off half-way', async () => {
    expect((await inspected('film.tif', 'cut.tif')).status).toBe(3)
  })

  for (const [scan, word] of [
    ['black.tif', 'dark all over'],
    ['clear.tif', 'solid'],
    ['bare.tif', 'solid'],
    ['noise.tif', 'its light varies everywhere'],
  ] as const)
    it(`has its own finding for ${scan}, with an artwork to hold against it and without crash`, async () => {
      const { status, record } = await inspected(scan, 'right.tif')
      expect(status).toBe(2)
      expect(says(record)).toContain(word)
      expect(record.readings).not.toHaveProperty('missingInk')
      expect(JSON.stringify(record).length).toBeLessThan(60_000)
    })
})

import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { decode as decodeWithTiffPackage } from 'tiff'
import { afterAll, describe, expect, it } from 'vitest'
import { openScan } from '../../src/decode/open-scan.js'
import { ProblemError } from '../../src/model/problem.js'
import type { ScanHeader } from '../../src/model/scan.js'
import { scanFolder } from '../support/scan-folder.js'
import { haveSharedData, SHARED_DATA } from '../support/shared-data.js'

const VALID = join(SHARED_DATA, 'tiff-valid')
const folder = scanFolder()
afterAll(() => folder.remove())

interface Row {
  readonly file: string
  readonly samples: number
  readonly photometric: string
  readonly least: string
  readonly greatest: string
  readonly mean: string
}

function manifest(): Row[] {
  const [head, ...lines] = readFileSync(join(VALID, 'MANIFEST.csv'), 'utf8').trim().split('\n').map(cells)
  const at = (name: string): number => head!.indexOf(name)
  return lines.map(line => ({
    file: line[at('file')]!,
    samples: Number(line[at('spp')]),
    photometric: line[at('photo')]!,
    least: line[at('min')]!,
    greatest: line[at('max')]!,
    mean: line[at('mean')]!,
  }))
}

/** Cells of a line of CSV, where cells with commas stand in quotes. */
function cells(line: string): string[] {
  return [...line.matchAll(/(?:^|,)(?:"((?:[^"]|"")*)"|([^,]*))/g)].map(m => m[1] ?? m[2]!)
}

/** All light-carrying channels, interleaved as stored (8-bit codes divided by 257 again, min-is-white turned back). */
async function decodeAll(file: string, minIsWhite: boolean): Promise<{ header: ScanHeader; codes: Uint16Array }> {
  const first = await openScan(file, { channel: 'red', tempDir: folder.path })
  const { header } = first
  first.close()
  const { width, height, channels } = header
  const codes = new Uint16Array(width * height * channels)
  for (const [sample, channel] of (['red', 'green', 'blue'] as const).slice(0, channels).entries()) {
    const scan = await openScan(file, { channel, tempDir: folder.path })
    scan.forEachBand(band => {
      for (let i = 0; i < band.codes.length; i++) {
        const code = minIsWhite ? 65535 - band.codes[i]! : band.codes[i]!
        codes[(band.row * width + i) * channels + sample] = header.bits === 8 ? code / 257 : code
      }
    })
    scan.close()
  }
  return { header, codes }
}

describe.skipIf(!haveSharedData)('296 valid TIFFs of other projects (skipped without the shared data)', () => {
  it('each is decoded as another decoder did, or refused with a problem', async () => {
    const rows = manifest()
    expect(rows).toHaveLength(296)
    const outcome = { asLibtiff: 0, asTiffPackage: 0, noOpinion: [] as string[], refused: 0 }
    for (const row of rows) {
      const file = join(VALID, row.file)
      const began = Date.now()
      try {
        const { header, codes } = await decodeAll(file, row.photometric === 'MINISWHITE')
        // The manifest's numbers are over all samples, so they serve where none was dropped.
        if (row.samples === header.channels && row.mean !== '') {
          let least = 65535
          let greatest = 0
          let sum = 0
          for (const code of codes) {
            if (code < least) least = code
            if (code > greatest) greatest = code
            sum += code
          }
          expect([least, greatest], row.file).toEqual([Number(row.least), Number(row.greatest)])
          // The manifest is rounded to four places.
          expect(Math.abs(sum / codes.length - Number(row.mean)), row.file).toBeLessThanOrEqual(0.0001)
          outcome.asLibtiff++
          continue
        }
        // The other decoder divides colours by an associated alpha; here they stay as stored.
        const divided = header.warnings.some(warning => warning.includes('(associated'))
        const other = divided ? null : secondOpinion(file)
        if (other === null) {
          outcome.noOpinion.push(row.file)
          continue
        }
        const stride = other.length / (header.width * header.height)
        let different = 0
        for (let i = 0; i < codes.length; i++) {
          const pixel = Math.floor(i / header.channels)
          if (other[pixel * stride + (i % header.channels)] !== codes[i]) different++
        }
        expect(different, row.file).toBe(0)
        outcome.asTiffPackage++
      } catch (error) {
        if (!(error instanceof ProblemError)) throw error
        outcome.refused++
      }
      // A second is far more than any of these small files takes; a hang would be seen here.
      expect(Date.now() - began, row.file).toBeLessThan(10_000)
    }
    // How many each way, so that a file that changes sides is seen. Those without an opinion of another decoder hold an
    // associated alpha or separate planes; the two tests below compare most of them with their siblings.
    const { noOpinion, ...rest } = outcome
    expect({ ...rest, noOpinion: noOpinion.length }, noOpinion.join(' ')).toEqual({
      asLibtiff: 75,
      asTiffPackage: 4,
      noOpinion: 10,
      refused: 207,
    })
  })

  it('same pixels in another encoding give the same codes', async () => {
    const groups = new Map<string, string[]>()
    for (const { file } of manifest()) {
      const hash = /seq\/seq-\dc-\d+b.*-([0-9a-f]{8})\.tiff$/.exec(file)?.[1]
      if (hash !== undefined) groups.set(hash, [...(groups.get(hash) ?? []), file])
    }
    let compared = 0
    for (const files of groups.values()) {
      if (files.length < 2) continue
      const decoded: Uint16Array[] = []
      for (const file of files) {
        try {
          decoded.push((await decodeAll(join(VALID, file), file.includes('miniswhite'))).codes)
        } catch (error) {
          if (!(error instanceof ProblemError)) throw error
        }
      }
      for (const codes of decoded.slice(1)) {
        expect(Buffer.compare(Buffer.from(codes.buffer), Buffer.from(decoded[0]!.buffer))).toBe(0)
        compared++
      }
    }
    expect(compared).toBeGreaterThanOrEqual(15)
  })

  it('separate planes, strips or tiles, with alpha or not, hold the same colours as interleaved samples', async () => {
    const wanted = (await decodeAll(join(VALID, 'pillow/tiff_16bit_RGBa.tiff'), false)).codes
    for (const name of [
      'strip_planar_16bit_RGB',
      'strip_planar_16bit_RGBa',
      'tiled_planar_16bit_RGB',
      'tiled_planar_16bit_RGBa',
    ]) {
      const { codes } = await decodeAll(join(VALID, `pillow/tiff_${name}.tiff`), false)
      expect(Buffer.compare(Buffer.from(codes.buffer), Buffer.from(wanted.buffer)), name).toBe(0)
    }
  })

  it('resolutions: without a unit the inch, as the standard says; inch and cm; fractions', async () => {
    for (const [name, dpi] of [
      ['hopper_float_dpi_None.tif', 364 / 5],
      ['hopper_float_dpi_2.tif', 364 / 5],
      ['hopper_float_dpi_3.tif', (364 / 5) * 2.54],
    ] as const) {
      const scan = await openScan(join(VALID, 'pillow', name), { channel: 'blue', tempDir: folder.path })
      scan.close()
      expect(scan.header.dpi!.across).toBeCloseTo(dpi, 10)
    }
  })

  it('refuses what it cannot measure by the right code', async () => {
    for (const [name, code] of [
      ['pillow/multipage_single_frame_loop.tiff', 'SCAN_DAMAGED'],
      ['pillow/hopper.Lab.tif', 'COLOUR_UNSUPPORTED'],
      ['pillow/hopper_gray_4bpp.tif', 'BITS_UNSUPPORTED'],
      ['pillow/hopper_jpg.tif', 'COMPRESSION_LOSSY'],
      ['pillow/hopper_lzma.tif', 'COMPRESSION_UNSUPPORTED'],
      ['pillow/g4_orientation_1.tif', 'BITS_UNSUPPORTED'],
      ['image-tiff/images/cmyk-4c-8b.tiff', 'COLOUR_UNSUPPORTED'],
      ['image-tiff/images/palette-1c-8b.tiff', 'COLOUR_UNSUPPORTED'],
      ['image-tiff/images/gradient-1c-32b-float.tiff', 'BITS_UNSUPPORTED'],
      ['image-tiff/images/quad-lzw-compat.tiff', 'COMPRESSION_UNSUPPORTED'],
    ] as const)
      await expect(openScan(join(VALID, name), { channel: 'blue', tempDir: folder.path }), name).rejects.toMatchObject({
        problem: { code },
      })
  })
})

function secondOpinion(file: string): ArrayLike<number> | null {
  try {
    const page = decodeWithTiffPackage(readFileSync(file), { pages: [0] })[0]!
    // It takes separate planes for interleaved samples.
    return page.get('PlanarConfiguration') === 2 ? null : page.data
  } catch {
    return null
  }
}

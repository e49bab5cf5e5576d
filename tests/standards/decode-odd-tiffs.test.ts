import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { openScan } from '../../src/decode/open-scan.js'
import type { OpenScan } from '../../src/model/scan.js'
import { scanFolder } from '../support/scan-folder.js'
import { haveSharedData, SHARED_DATA } from '../support/shared-data.js'

const ODD = join(SHARED_DATA, 'odd-tiffs')
const folder = scanFolder()
afterAll(() => folder.remove())

/** Files whose samples are known, and which file holds them. */
const KNOWN: Record<string, { codes: string; samples: number; turned?: boolean }> = {
  'g_badicc.tif': { codes: 'g.u16', samples: 1 },
  'g_big.tif': { codes: 'g.u16', samples: 1 },
  'g_gama.png': { codes: 'g.u16', samples: 1 },
  'g_icc.png': { codes: 'g.u16', samples: 1 },
  'g_icc.tif': { codes: 'g.u16', samples: 1 },
  'g_lzw2.tif': { codes: 'g.u16', samples: 1 },
  'g_miw.tif': { codes: 'g.u16', samples: 1, turned: true },
  'g_mm.tif': { codes: 'g.u16', samples: 1 },
  'g_or6.tif': { codes: 'g.u16', samples: 1 },
  'g_packbits.tif': { codes: 'g.u16', samples: 1 },
  'g_tile.tif': { codes: 'g.u16', samples: 1 },
  'ga.tif': { codes: 'ga.u16', samples: 2 },
  'rgb_icc.png': { codes: 'rgb.u16', samples: 3 },
  'rgb_icc.tif': { codes: 'rgb.u16', samples: 3 },
  'rgb_ir.tif': { codes: 'rgba.u16', samples: 4 },
  'rgb_mm_big.tif': { codes: 'rgb.u16', samples: 3 },
  'rgb_planar.tif': { codes: 'rgb.u16', samples: 3 },
  'rgb_zip2.tif': { codes: 'rgb.u16', samples: 3 },
}
const REFUSED: Record<string, string> = {
  'g_lzma.tif': 'COMPRESSION_UNSUPPORTED',
  'g_zstd2.tif': 'COMPRESSION_UNSUPPORTED',
  't_cut_g.tif': 'SCAN_TRUNCATED',
  't_cut_g.png': 'SCAN_TRUNCATED',
  't_cut_g_lzw2.tif': 'SCAN_TRUNCATED',
  't_ifdfirst_trunc.tif': 'SCAN_TRUNCATED',
  't_ifdfirst_zeros.tif': 'SCAN_UNFINISHED',
}
const CHANNELS = ['red', 'green', 'blue'] as const
const open = (name: string, channel: (typeof CHANNELS)[number]): Promise<OpenScan> =>
  openScan(join(ODD, name), { channel, tempDir: folder.path })

describe.skipIf(!haveSharedData)('odd but valid files, to the last code (skipped without the shared data)', () => {
  for (const [name, { codes, samples, turned }] of Object.entries(KNOWN))
    it(name, async () => {
      const raw = readFileSync(join(ODD, codes))
      const channels = samples >= 3 ? CHANNELS : CHANNELS.slice(0, 1)
      for (const [sample, channel] of channels.entries()) {
        const scan = await open(name, channel)
        const { width, height } = scan.header
        expect([width, height]).toEqual([300, 260])
        const wanted = new Uint16Array(width * height)
        for (let i = 0; i < wanted.length; i++) {
          const stored = raw.readUInt16LE((i * samples + sample) * 2)
          wanted[i] = turned === true ? 65535 - stored : stored
        }
        const got = new Uint16Array(width * height)
        scan.forEachBand(band => got.set(band.codes, band.row * width))
        const window = scan.readWindow({ column: 0, row: 0, width, height })
        scan.close()
        expect(Buffer.compare(Buffer.from(got.buffer), Buffer.from(wanted.buffer))).toBe(0)
        expect(Buffer.compare(Buffer.from(window.codes.buffer), Buffer.from(wanted.buffer))).toBe(0)
      }
    })

  for (const [name, code] of Object.entries(REFUSED))
    it(`${name}: ${code}`, async () => {
      await expect(open(name, 'blue')).rejects.toMatchObject({ problem: { code } })
    })

  it('names what it left out', async () => {
    for (const [name, said] of [
      ['ga.tif', 'alpha sample (unassociated)'],
      ['rgb_ir.tif', 'unspecified extra sample'],
      ['g_or6.tif', 'orientation 6'],
      ['rgb_icc.png', 'profile'],
    ] as const) {
      const scan = await open(name, 'blue')
      expect(scan.header.warnings.join(' ')).toContain(said)
      scan.close()
    }
  })

  it('no file of the folder is left out here', () => {
    const files = readdirSync(ODD).filter(name => /\.(tif|png)$/.test(name))
    expect(files.toSorted()).toEqual([...Object.keys(KNOWN), ...Object.keys(REFUSED)].toSorted())
  })
})

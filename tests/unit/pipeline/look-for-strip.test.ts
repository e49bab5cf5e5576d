import { existsSync, readdirSync, utimesSync } from 'node:fs'
import sharp from 'sharp'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { removeUnpacked } from '../../../src/decode/unpacked-picture.js'
import { writeScan } from '../../../src/demo/write-scan.js'
import type { Dpi } from '../../../src/model/geometry.js'
import { lookForStrip } from '../../../src/pipeline/look-for-strip.js'
import { stillSeen, stillUnpacked } from '../../../src/pipeline/seen-overview.js'
import { QUICK_SCANNER } from '../../support/quick-scanner.js'
import { scanFolder } from '../../support/scan-folder.js'
import { type StripFilm, stripFilm } from '../../support/strip-film.js'

const folder = scanFolder()
let film: StripFilm
let file: string
const NOTHING = { identity: null, found: 0, refused: null }
const asked = (path: string, dpi: Dpi | null = null) =>
  lookForStrip({ file: path, channel: 'grey', dpi, calibration: null }, folder.path)
const look = async (path: string, dpi: Dpi | null = null) => (await asked(path, dpi)).look

beforeAll(async () => {
  film = stripFilm(31, {
    dpi: 300,
    forms: ['short'],
    scratched: 0,
    inkSpreadUm: [20, 25],
    netDensity: [2.5, 3],
    scanner: { ...QUICK_SCANNER, dpi: 300, blurAcrossUm: 14, blurAlongUm: 14, gamma: 1.8 },
  })
  file = `${folder.path}/film.tif`
  await writeScan(file, film, '2026-03-01T10:00:00')
})
afterAll(() => folder.remove())

describe('lookForStrip', () => {
  it('reads who a scan of 300 dpi says it is, by codes, before any calibration', async () => {
    const { identity, found, refused } = await look(file)
    expect({ identity, found, refused }).toEqual({
      identity: { ...film.identity, positive: film.identity.positive.normalize('NFC') },
      found: 1,
      refused: null,
    })
  })

  it('hands on the overview it looked at, for this file, channel and scale alone', async () => {
    const { overview } = await asked(file)
    const source = { file, channel: 'grey', calibration: null } as const
    expect(stillSeen(overview!, source)).toBe(overview!.blocks)
    expect(stillSeen(overview!, { ...source, channel: 'blue' })).toBe(undefined)
    utimesSync(file, new Date(), new Date(Date.now() + 5000))
    expect(stillSeen(overview!, source), 'the file was written since').toBe(undefined)
    expect((await asked(file, { across: 150, along: 150 })).overview).toBe(null)
  })

  it('leaves what it unpacked a packed scan to, for whoever measures it; where it saw nothing it leaves nothing', async () => {
    const unpacked = () => readdirSync(folder.path).filter(name => name.startsWith('unpacked-'))
    const png = `${folder.path}/film.png`
    await sharp(file).toColourspace('grey16').withMetadata({ density: 300 }).png({ compressionLevel: 1 }).toFile(png)
    const { overview } = await asked(png)
    expect(overview!.blocks.light).toHaveLength((await asked(file)).overview!.blocks.light.length)
    const source = { file: png, channel: 'grey', calibration: null } as const
    expect(unpacked()).toHaveLength(1)
    expect(existsSync(stillUnpacked(overview!, source)!)).toBe(true)
    expect(stillUnpacked(overview!, { ...source, channel: 'blue' })).toBe(undefined)
    removeUnpacked(overview!.unpacked!)
    expect((await asked(png, { across: 150, along: 150 })).overview).toBe(null)
    expect(unpacked()).toEqual([])
  })

  it('goes by the resolution it is told, before the file’s: at another size there is no strip', async () => {
    expect(await look(file, { across: 600, along: 600 })).toEqual(NOTHING)
  })

  it('sees nothing on scans too coarse for a code', async () => {
    expect(await look(file, { across: 150, along: 150 })).toEqual(NOTHING)
  })

  it('says nothing of a file that cannot be opened: whoever measures it says why', async () => {
    expect(await look(folder.put('x.tif', 'no scan'))).toEqual(NOTHING)
    expect(await look(`${folder.path}/none.tif`)).toEqual(NOTHING)
  })
})

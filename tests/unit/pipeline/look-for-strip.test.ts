import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { writeScan } from '../../../src/demo/write-scan.js'
import type { Dpi } from '../../../src/model/geometry.js'
import { lookForStrip } from '../../../src/pipeline/look-for-strip.js'
import { QUICK_SCANNER } from '../../support/quick-scanner.js'
import { scanFolder } from '../../support/scan-folder.js'
import { type StripFilm, stripFilm } from '../../support/strip-film.js'

const folder = scanFolder()
let film: StripFilm
let file: string
const NOTHING = { identity: null, found: 0, refused: null }
const look = (path: string, dpi: Dpi | null = null) => lookForStrip({ file: path, channel: 'grey', dpi }, folder.path)

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

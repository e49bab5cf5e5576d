import { afterAll, describe, expect, it } from 'vitest'
import { checkWhole } from '../../../src/decode/check-whole.js'
import { openScan } from '../../../src/decode/open-scan.js'
import { memoryScan } from '../../support/memory-scan.js'
import { scanFolder } from '../../support/scan-folder.js'
import { writeTiff } from '../../support/tiff-writer.js'

const folder = scanFolder()
afterAll(() => folder.remove())
const page = { width: 64, height: 48, data: new Uint16Array(64 * 48).map((_, i) => 1 + ((i * 40503) % 65_000)) }
const open = (bytes: Buffer) => openScan(folder.put('x.tif', bytes), { channel: 'grey', tempDir: folder.path })

describe('checkWhole', () => {
  it('passes a whole scan', async () => {
    const scan = await open(writeTiff({ ...page, compression: 'deflate', rowsPerStrip: 8 }))
    expect(() => checkWhole(scan)).not.toThrow()
    scan.close()
  })

  it('finds a damaged strip in the middle, which opening does not read', async () => {
    const bytes = writeTiff({ ...page, compression: 'deflate', rowsPerStrip: 8 })
    bytes.fill(0xff, 1200, 1300)
    const scan = await open(bytes)
    expect(() => checkWhole(scan)).toThrow(/SCAN_(DAMAGED|TRUNCATED)/)
    scan.close()
  })

  it('finds rows missing', () => {
    const scan = memoryScan(new Uint16Array(100 * 100), 100, 100, 600)
    expect(() => checkWhole({ ...scan, header: { ...scan.header, height: 101 } })).toThrow(/100 of 101 rows/)
  })
})

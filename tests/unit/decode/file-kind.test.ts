import { afterAll, describe, expect, it } from 'vitest'
import { fileKind } from '../../../src/decode/file-kind.js'
import { openScanFile } from '../../../src/decode/scan-file.js'
import { scanFolder } from '../../support/scan-folder.js'

const folder = scanFolder()
afterAll(() => folder.remove())

function kindOf(start: string): string {
  const file = openScanFile(folder.put('x', Buffer.from(start, 'latin1')))
  try {
    return fileKind(file)
  } catch (error) {
    const { code, what } = (error as { problem: { code: string; what: string } }).problem
    return `${code}: ${what}`
  } finally {
    file.close()
  }
}

describe('fileKind', () => {
  it('knows TIFF, BigTIFF and PNG', () => {
    for (const start of ['II*\0....', 'MM\0*....', 'II+\0....', 'MM\0+....']) expect(kindOf(start)).toBe('tiff')
    expect(kindOf('\x89PNG\r\n\x1a\n....')).toBe('png')
  })

  it('names what people take for a scan', () => {
    expect(kindOf('%PDF-1.4')).toMatch(/NOT_A_SCAN.*a PDF/)
    expect(kindOf('BM......')).toMatch(/a BMP picture/)
    expect(kindOf('RIFF....WEBPVP8 ')).toMatch(/a WebP picture/)
    expect(kindOf('hello there')).toMatch(/begins like text/)
    expect(kindOf('\x01\x02\x03')).toMatch(/first bytes are unknown/)
    expect(kindOf('\xff\xd8\xff\xe0')).toMatch(/COMPRESSION_LOSSY.*JPEG/)
    expect(kindOf('\0\0\0\0')).toMatch(/SCAN_TRUNCATED.*not written yet/)
    expect(kindOf('II*')).toMatch(/SCAN_TRUNCATED/)
    expect(kindOf('\x89PN')).toMatch(/SCAN_TRUNCATED/)
  })
})

import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { openScanFile } from '../../../src/decode/scan-file.js'
import { scanFolder } from '../../support/scan-folder.js'

const folder = scanFolder()
afterAll(() => folder.remove())

describe('openScanFile', () => {
  it('reads at any place, and says when the file ends first', () => {
    const file = openScanFile(folder.put('ten', '0123456789'))
    expect(file.size).toBe(10)
    expect(file.read(7, 3).toString()).toBe('789')
    expect(() => file.read(7, 4)).toThrow(/SCAN_TRUNCATED/)
    const into = Buffer.alloc(6, '.')
    file.readInto(into, 2, 3, 4)
    expect(into.toString()).toBe('..456.')
    expect(() => file.readInto(into, 0, 6, 5)).toThrow(/SCAN_TRUNCATED/)
    file.close()
    file.close()
    expect(() => file.read(0, 1)).toThrow(/closed/)
  })

  it('refuses what is not there, empty, or no file', () => {
    expect(() => openScanFile(join(folder.path, 'none'))).toThrow(/FILE_MISSING/)
    expect(() => openScanFile(join(folder.put('file', 'x'), 'below'))).toThrow(/FILE_MISSING/)
    expect(() => openScanFile(folder.put('empty', ''))).toThrow(/FILE_EMPTY/)
    expect(() => openScanFile(folder.path)).toThrow(/FILE_NOT_READABLE/)
  })
})

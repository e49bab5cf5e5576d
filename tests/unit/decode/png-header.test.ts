import { afterAll, describe, expect, it } from 'vitest'
import { pngHeader } from '../../../src/decode/png-header.js'
import { openScanFile } from '../../../src/decode/scan-file.js'
import { type PngToWrite, writePng } from '../../support/png-writer.js'
import { scanFolder } from '../../support/scan-folder.js'

const folder = scanFolder()
afterAll(() => folder.remove())

function headerOf(change: Partial<PngToWrite>) {
  const picture = { width: 8, height: 4, bits: 16, samples: 1, data: new Uint16Array(128).fill(9) } as const
  const file = openScanFile(folder.put('x.png', writePng({ ...picture, ...change })))
  try {
    return pngHeader(file)
  } finally {
    file.close()
  }
}

describe('pngHeader', () => {
  it('size, depth, channels', () => {
    expect(headerOf({})).toEqual({
      width: 8,
      height: 4,
      bits: 16,
      channels: 1,
      stored: 1,
      interlaced: false,
      dpi: null,
      warnings: [],
    })
    expect(headerOf({ samples: 4, bits: 8 })).toMatchObject({ bits: 8, channels: 3, stored: 4 })
    expect(headerOf({ samples: 2 }).warnings.join()).toMatch(/alpha/)
  })

  it('resolution in metres, none without the unit, left out when it cannot be', () => {
    const { dpi } = headerOf({ perMetre: [47_244, 23_622] })
    expect(dpi!.across).toBeCloseTo(1199.9976, 6)
    expect(dpi!.along).toBeCloseTo(599.9988, 6)
    expect(headerOf({ perMetre: [47_244, 47_244], unit: 0 }).dpi).toBeNull()
    const odd = headerOf({ perMetre: [1, 1] })
    expect(odd.dpi).toBeNull()
    expect(odd.warnings.join()).toMatch(/cannot be right/)
  })
})

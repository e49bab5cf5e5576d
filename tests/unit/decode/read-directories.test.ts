import { afterAll, describe, expect, it } from 'vitest'
import { readDirectories } from '../../../src/decode/read-directories.js'
import { openScanFile } from '../../../src/decode/scan-file.js'
import { scanFolder } from '../../support/scan-folder.js'
import { ascii, rational, type TagValue, writeTiff } from '../../support/tiff-writer.js'

const folder = scanFolder()
afterAll(() => folder.remove())
const page = { width: 4, height: 2, data: new Uint16Array(8).fill(7) }

describe('readDirectories', () => {
  for (const littleEndian of [true, false])
    for (const big of [true, false])
      it(`reads every field type, ${littleEndian ? 'little' : 'big'}-endian${big ? ', BigTIFF' : ''}`, () => {
        const tags: Record<number, TagValue> = {
          60001: { type: 'byte', values: [1, 2, 255] },
          60002: { type: 'short', values: [1, 65535, 3] },
          60003: { type: 'long', values: [4294967295, 2] },
          60004: rational(1001, 10),
          60005: { type: 'float', values: [0.5, -2] },
          60006: { type: 'long8', values: [2 ** 40, 1] },
          60007: ascii('  a scanner \u0007of ours '),
          60008: ascii('   '),
        }
        const file = openScanFile(folder.put('types.tif', writeTiff({ ...page, littleEndian, big, tags })))
        const read = readDirectories(file)
        expect([read.littleEndian, read.bigTiff, read.pages.length, read.chainBroken]).toEqual([
          littleEndian,
          big,
          1,
          false,
        ])
        const numbers = (tag: number) => [...read.pages[0]!.numbers(tag, 10)!]
        expect(numbers(60001)).toEqual([1, 2, 255])
        expect(numbers(60002)).toEqual([1, 65535, 3])
        expect(numbers(60003)).toEqual([4294967295, 2])
        expect(numbers(60004)).toEqual([100.1])
        expect(numbers(60005)).toEqual([0.5, -2])
        expect(numbers(60006)).toEqual([2 ** 40, 1])
        expect(read.pages[0]!.text(60007)).toBe('a scanner of ours')
        expect(read.pages[0]!.text(60008)).toBeNull()
        expect(read.pages[0]!.text(60009)).toBeNull()
        expect(read.pages[0]!.numbers(60009, 10)).toBeNull()
        expect(read.pages[0]!.has(60009)).toBe(false)
        expect(() => read.pages[0]!.numbers(60001, 2)).toThrow(/3 values, expected at most 2/)
        expect(() => read.pages[0]!.numbers(60007, 100)).toThrow(/field type 2/)
        file.close()
      })
})

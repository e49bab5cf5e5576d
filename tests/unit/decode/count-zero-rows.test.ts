import { describe, expect, it } from 'vitest'
import { countZeroRows } from '../../../src/decode/count-zero-rows.js'
import { memoryScan } from '../../support/memory-scan.js'

describe('countZeroRows', () => {
  const page = (zeroRows: number, fill: number, zero: number) => {
    const codes = new Uint16Array(20 * 300).fill(fill)
    codes.fill(zero, (300 - zeroRows) * 20)
    return memoryScan(codes, 20, 300, 600)
  }

  it('counts whole rows from the end, whatever the number', () => {
    for (const rows of [0, 1, 7, 8, 9, 24, 25, 100, 299, 300])
      expect(countZeroRows(page(rows, 5, 0), 20, 300, 0)).toBe(rows)
    expect(countZeroRows(page(30, 5, 65535), 20, 300, 65535)).toBe(30)
  })

  it('a row with one other pixel, at either end, ends the count', () => {
    for (const column of [0, 19]) {
      const codes = new Uint16Array(20 * 300)
      codes[(300 - 13) * 20 + column] = 1
      expect(countZeroRows(memoryScan(codes, 20, 300, 600), 20, 300, 0)).toBe(12)
    }
  })
})

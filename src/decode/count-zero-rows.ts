import type { CodeReader } from './plain-strip-reader.js'

/**
 * Counts the rows at the end of a page that hold one code only, `zero`, in every pixel.
 * Costs one small window on a finished scan: its last row is not zero.
 * @param zero the code that stored zeros are handed out as
 */
export function countZeroRows(reader: CodeReader, width: number, height: number, zero: number): number {
  let count = 0
  let block = 8
  while (count < height) {
    const rows = Math.min(block, height - count)
    const { codes } = reader.readWindow({ column: 0, row: height - count - rows, width, height: rows })
    let at = codes.length - 1
    while (at >= 0 && codes[at] === zero) at--
    if (at >= 0) return count + rows - 1 - Math.floor(at / width)
    count += rows
    block = Math.min(64, block * 2)
  }
  return count
}

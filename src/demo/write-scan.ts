import { type BedScan, scanBands, scanSize } from './scanner.js'
import { writeCodes } from './write-codes.js'

/**
 * Writes a scan as a 16-bit grey uncompressed little-endian TIFF (TIFF 6.0, section 4), rows in strips,
 * without ever holding the page.
 * @param dateTime the scanner's own clock, `YYYY-MM-DDTHH:MM:SS`
 * @throws RangeError when the date is not of that form or the file would pass 4 GB
 */
export async function writeScan(file: string, scan: BedScan, dateTime: string): Promise<void> {
  const { width, height } = scanSize(scan)
  const { dpi, maker, model } = scan.scanner
  await writeCodes(file, { width, height, dpi, maker, model, dateTime }, scanBands(scan))
}

import { ProblemError } from '../model/problem.js'
import type { OpenScan } from '../model/scan.js'

/**
 * Decodes every strip once, so that a scan cut short or damaged anywhere is known before it is measured.
 * @throws ProblemError SCAN_TRUNCATED, SCAN_DAMAGED, FILE_NOT_READABLE as the reader meets them
 */
export function checkWhole(scan: OpenScan): void {
  let rows = 0
  scan.forEachBand(band => {
    rows += band.height
  })
  if (rows !== scan.header.height)
    throw new ProblemError('SCAN_TRUNCATED', `${rows} of ${scan.header.height} rows could be read`)
}

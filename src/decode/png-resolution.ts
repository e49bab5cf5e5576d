import type { Dpi } from '../model/geometry.js'
import { ProblemError } from '../model/problem.js'
import type { ScanFile } from './scan-file.js'
import { plausibleDpi } from './scan-tags.js'

const METRE_PER_INCH = 0.0254
/** The resolution stands before the pixels; further chunks than this are not walked. */
const MOST_CHUNKS = 10_000

/**
 * Resolution of a PNG of any kind from its pHYs chunk (PNG, third edition, 11.3.4.3; from memory); null when it does not say one
 * in metres, or one that cannot be right (then with a sentence in `warnings`).
 * @throws ProblemError SCAN_TRUNCATED
 */
export function pngResolution(file: ScanFile, warnings: string[]): Dpi | null {
  let position = 8
  for (let chunk = 0; chunk < MOST_CHUNKS && position + 12 <= file.size; chunk++) {
    const head = file.read(position, 8)
    const length = head.readUInt32BE(0)
    const name = head.toString('latin1', 4, 8)
    if (name === 'IDAT' || name === 'IEND') return null
    if (name === 'pHYs' && length === 9 && position + 17 <= file.size) {
      const density = file.read(position + 8, 9)
      if (density[8] !== 1) return null
      return plausibleDpi(density.readUInt32BE(0) * METRE_PER_INCH, density.readUInt32BE(4) * METRE_PER_INCH, warnings)
    }
    position += 12 + length
  }
  throw new ProblemError('SCAN_TRUNCATED', 'it ends before its pixels')
}

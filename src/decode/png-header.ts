import type { Dpi } from '../model/geometry.js'
import { ProblemError } from '../model/problem.js'
import { requirePageSize } from './page-size.js'
import type { ScanFile } from './scan-file.js'
import { plausibleDpi } from './scan-tags.js'

/** What the chunks of a PNG say of it, pixels aside. */
export interface PngHeader {
  readonly width: number
  readonly height: number
  readonly bits: 8 | 16
  readonly channels: 1 | 3
  /** Samples stored a pixel, alpha included. */
  readonly stored: number
  readonly interlaced: boolean
  readonly dpi: Dpi | null
  readonly warnings: readonly string[]
}

const METRE_PER_INCH = 0.0254
const MOST_CHUNKS = 2_000_000

/**
 * Reads a PNG's header, checks that every chunk to the closing one is there, and takes the resolution
 * (PNG, third edition: 5 and 11.2.1; pHYs 11.3.4.3; from memory).
 * @throws ProblemError SCAN_TRUNCATED, SCAN_DAMAGED, SCAN_NO_PIXELS, SCAN_TOO_LARGE, BITS_UNSUPPORTED, COLOUR_UNSUPPORTED
 */
export function pngHeader(file: ScanFile): PngHeader {
  const warnings: string[] = []
  const first = file.read(8, 25)
  if (first.readUInt32BE(0) !== 13 || first.toString('latin1', 4, 8) !== 'IHDR')
    throw new ProblemError('SCAN_DAMAGED', 'its PNG header is not right')
  const width = first.readUInt32BE(8)
  const height = first.readUInt32BE(12)
  const bits = first[16]!
  const kind = first[17]!
  requirePageSize(width, height)
  if (kind === 3) throw new ProblemError('COLOUR_UNSUPPORTED', 'palette colours')
  if (kind !== 0 && kind !== 2 && kind !== 4 && kind !== 6)
    throw new ProblemError('SCAN_DAMAGED', `PNG colour type ${kind} does not exist`)
  if (bits !== 8 && bits !== 16)
    throw new ProblemError('BITS_UNSUPPORTED', bits === 1 ? '1-bit (black and white) samples' : `${bits}-bit samples`)
  if (kind === 4 || kind === 6) warnings.push('Each pixel also holds an alpha sample (unassociated); it was left out.')

  let dpi: Dpi | null = null
  let pixelBytes = 0
  let profile = false
  let position = 33
  for (let chunk = 0; ; chunk++) {
    if (chunk >= MOST_CHUNKS) throw new ProblemError('SCAN_DAMAGED', `it has more than ${MOST_CHUNKS} chunks`)
    if (position + 12 > file.size) throw new ProblemError('SCAN_TRUNCATED', 'it ends before its closing chunk')
    const head = file.read(position, 8)
    const length = head.readUInt32BE(0)
    const name = head.toString('latin1', 4, 8)
    if (!/^[A-Za-z]{4}$/.test(name)) throw new ProblemError('SCAN_DAMAGED', `byte ${position} begins no PNG chunk`)
    if (position + 12 + length > file.size)
      throw new ProblemError('SCAN_TRUNCATED', `a chunk reaches to byte ${position + 12 + length} of ${file.size}`)
    if (name === 'IEND') break
    if (name === 'IDAT') pixelBytes += length
    if (name === 'iCCP') profile = true
    if (name === 'pHYs' && length === 9 && dpi === null) {
      const density = file.read(position + 8, 9)
      if (density[8] === 1)
        dpi = plausibleDpi(density.readUInt32BE(0) * METRE_PER_INCH, density.readUInt32BE(4) * METRE_PER_INCH, warnings)
    }
    position += 12 + length
  }
  if (pixelBytes === 0) throw new ProblemError('SCAN_TRUNCATED', 'its pixels are not written yet')
  if (profile) warnings.push('The colour profile in the file was ignored; codes are read as stored.')
  const channels = kind === 2 || kind === 6 ? 3 : 1
  const stored = kind === 0 ? 1 : kind === 4 ? 2 : kind === 2 ? 3 : 4
  return { width, height, bits, channels, stored, interlaced: first[20] === 1, dpi, warnings }
}

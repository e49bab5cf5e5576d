import { ProblemError } from '../model/problem.js'
import { requirePageSize } from './page-size.js'
import type { TiffDirectory } from './read-directories.js'

export type StripCompression = 'none' | 'LZW' | 'Deflate' | 'PackBits'

/** Where and how the samples of one page are stored. A chunk is a strip or a tile. */
export interface TiffLayout {
  readonly width: number
  readonly height: number
  readonly bits: 8 | 16
  /** Samples that carry light: 1 grey, 3 colour. */
  readonly channels: 1 | 3
  /** Samples stored side by side in a chunk: all of a pixel's, or 1 when planes are separate. */
  readonly samples: number
  /** Planes are stored one after another. */
  readonly planar: boolean
  readonly minIsWhite: boolean
  readonly littleEndian: boolean
  /** Bits of every stored byte run backwards (FillOrder 2). */
  readonly bitsReversed: boolean
  readonly compression: StripCompression
  readonly differenced: boolean
  readonly tiled: boolean
  readonly chunkWidth: number
  readonly chunkHeight: number
  readonly chunksAcross: number
  readonly chunksDown: number
  /** First byte and stored bytes of every chunk; plane after plane when planar. */
  readonly offsets: Float64Array
  readonly counts: Float64Array
  /** Sentences on what was left out. */
  readonly warnings: readonly string[]
}

const TAG = {
  width: 256,
  height: 257,
  bits: 258,
  compression: 259,
  photometric: 262,
  fillOrder: 266,
  stripOffsets: 273,
  orientation: 274,
  samples: 277,
  rowsPerStrip: 278,
  stripCounts: 279,
  planar: 284,
  predictor: 317,
  tileWidth: 322,
  tileHeight: 323,
  tileOffsets: 324,
  tileCounts: 325,
  extraSamples: 338,
  sampleFormat: 339,
  profile: 34675,
} as const

const LOSSY: Readonly<Record<number, string>> = { 6: 'old-style JPEG', 7: 'JPEG', 34892: 'JPEG' }
const OTHER_COMPRESSION: Readonly<Record<number, string>> = {
  2: 'fax (CCITT RLE)',
  3: 'fax (group 3)',
  4: 'fax (group 4)',
  32766: 'NeXT',
  32771: 'fax (CCITT RLE)',
  32809: 'ThunderScan',
  33003: 'JPEG 2000',
  33004: 'JPEG 2000',
  33005: 'JPEG 2000',
  34661: 'JBIG',
  34676: 'SGILog',
  34677: 'SGILog',
  34712: 'JPEG 2000',
  34887: 'LERC',
  34925: 'LZMA',
  50000: 'ZSTD',
  50001: 'WebP',
  50002: 'JPEG XL',
}
const READABLE: Readonly<Record<number, StripCompression>> = {
  1: 'none',
  5: 'LZW',
  8: 'Deflate',
  32946: 'Deflate',
  32773: 'PackBits',
}
const COLOUR: Readonly<Record<number, string>> = {
  3: 'palette colours',
  4: 'a transparency mask',
  5: 'CMYK colours',
  6: 'YCbCr colours',
  8: 'Lab colours',
  9: 'Lab colours',
  10: 'Lab colours',
  32803: 'a raw colour mosaic',
  32844: 'LogL samples',
  32845: 'LogLuv samples',
  34892: 'raw camera colours',
}
const EXTRA: Readonly<Record<number, string>> = {
  0: 'an unspecified extra sample (as an infrared channel comes)',
  1: 'an alpha sample (associated: colours may have been multiplied by it)',
  2: 'an alpha sample (unassociated)',
}
const MOST_SAMPLES = 8
const MOST_CHUNKS = 1 << 22

/**
 * Where the pixels of a page lie, checked against the size of the file (TIFF 6.0, sections 3, 8, 13 to 15, 18).
 * @throws ProblemError naming what cannot be measured, or what does not fit
 */
export function tiffLayout(directory: TiffDirectory, littleEndian: boolean, fileSize: number): TiffLayout {
  const warnings: string[] = []
  const one = (tag: number, otherwise: number): number => directory.numbers(tag, MOST_CHUNKS)?.[0] ?? otherwise
  const width = one(TAG.width, 0)
  const height = one(TAG.height, 0)
  requirePageSize(width, height)

  // Lossy first: nothing else about such a file matters.
  const compressionCode = one(TAG.compression, 1)
  const lossy = LOSSY[compressionCode]
  if (lossy !== undefined) throw new ProblemError('COMPRESSION_LOSSY', lossy)

  const photometric = directory.numbers(TAG.photometric, 1)?.[0]
  if (photometric === undefined)
    throw new ProblemError('SCAN_DAMAGED', 'it does not say whether its lowest code is black or white')
  if (photometric !== 0 && photometric !== 1 && photometric !== 2)
    throw new ProblemError('COLOUR_UNSUPPORTED', COLOUR[photometric] ?? `photometric interpretation ${photometric}`)
  const stored = one(TAG.samples, 1)
  const channels = photometric === 2 ? 3 : 1
  if (!(Number.isInteger(stored) && stored >= channels))
    throw new ProblemError('SCAN_DAMAGED', `${stored} samples a pixel cannot hold ${channels === 3 ? 'RGB' : 'grey'}`)
  if (stored > MOST_SAMPLES) throw new ProblemError('COLOUR_UNSUPPORTED', `${stored} samples a pixel`)
  const bits = sampleBits(directory, stored)

  const compression = READABLE[compressionCode]
  if (compression === undefined)
    throw new ProblemError(
      'COMPRESSION_UNSUPPORTED',
      OTHER_COMPRESSION[compressionCode] ?? `unknown (number ${compressionCode})`,
    )
  const predictor = compression === 'LZW' || compression === 'Deflate' ? one(TAG.predictor, 1) : 1
  if (predictor !== 1 && predictor !== 2)
    throw new ProblemError('COMPRESSION_UNSUPPORTED', `${compression} with predictor ${predictor}`)
  const planarCode = one(TAG.planar, 1)
  if (planarCode !== 1 && planarCode !== 2)
    throw new ProblemError('SCAN_DAMAGED', `planar configuration ${planarCode} does not exist`)
  const planar = planarCode === 2 && stored > 1

  const extras = directory.numbers(TAG.extraSamples, 1024)
  for (let s = channels; s < stored; s++) {
    const kind = extras?.[s - channels] ?? 0
    warnings.push(`Each pixel also holds ${EXTRA[kind] ?? EXTRA[0]}; it was left out.`)
  }
  if (directory.has(TAG.profile)) warnings.push('The colour profile in the file was ignored; codes are read as stored.')
  const orientation = one(TAG.orientation, 1)
  if (orientation !== 1)
    warnings.push(
      `The file asks to be shown turned or mirrored (orientation ${orientation}); it was read as the scanner stored it.`,
    )

  const tiled = directory.has(TAG.tileWidth) && directory.has(TAG.tileHeight)
  const chunkWidth = tiled ? one(TAG.tileWidth, 0) : width
  const rows = tiled ? one(TAG.tileHeight, 0) : one(TAG.rowsPerStrip, height)
  // 0 occurs; 2^32 - 1 is the written default: all rows in one strip.
  const chunkHeight = tiled ? rows : rows === 0 ? height : Math.min(rows, height)
  if (!(Number.isInteger(chunkWidth) && chunkWidth >= 1 && Number.isInteger(chunkHeight) && chunkHeight >= 1))
    throw new ProblemError('SCAN_DAMAGED', `its ${tiled ? 'tiles are' : 'strips are'} ${chunkWidth} x ${chunkHeight}`)
  if (tiled) requirePageSize(chunkWidth, chunkHeight)
  const chunksAcross = Math.ceil(width / chunkWidth)
  const chunksDown = Math.ceil(height / chunkHeight)
  const expected = chunksAcross * chunksDown * (planar ? stored : 1)
  if (!(expected <= MOST_CHUNKS)) throw new ProblemError('SCAN_DAMAGED', `it claims ${expected} tiles`)

  const samples = planar ? 1 : stored
  const { offsets, counts } = chunkPlaces(directory, {
    tiled,
    expected,
    fileSize,
    // How many bytes a chunk must hold when it is stored plainly; null when compressed.
    needed:
      compression === 'none'
        ? chunk => {
            const down = Math.floor((chunk % (chunksAcross * chunksDown)) / chunksAcross)
            const chunkRows = tiled ? chunkHeight : Math.min(chunkHeight, height - down * chunkHeight)
            return chunkRows * chunkWidth * samples * (bits / 8)
          }
        : null,
  })

  return {
    width,
    height,
    bits,
    channels,
    samples,
    planar,
    minIsWhite: photometric === 0,
    littleEndian,
    bitsReversed: one(TAG.fillOrder, 1) === 2,
    compression,
    differenced: predictor === 2,
    tiled,
    chunkWidth,
    chunkHeight,
    chunksAcross,
    chunksDown,
    offsets,
    counts,
    warnings,
  }
}

function sampleBits(directory: TiffDirectory, stored: number): 8 | 16 {
  const all = directory.numbers(TAG.bits, 1024) ?? Float64Array.of(1)
  const formats = directory.numbers(TAG.sampleFormat, 1024) ?? Float64Array.of(1)
  const bits = all[0]!
  // Fewer entries than samples occur; the first then stands for all.
  for (let s = 1; s < Math.min(stored, all.length); s++)
    if (all[s] !== bits) throw new ProblemError('BITS_UNSUPPORTED', `samples of ${[...all].join(', ')} bits`)
  for (let s = 0; s < Math.min(stored, formats.length); s++) {
    const format = formats[s]
    if (format === 2) throw new ProblemError('BITS_UNSUPPORTED', `signed ${bits}-bit samples`)
    if (format === 3) throw new ProblemError('BITS_UNSUPPORTED', `${bits}-bit floating-point samples`)
    if (format === 5 || format === 6) throw new ProblemError('BITS_UNSUPPORTED', `${bits}-bit complex samples`)
  }
  if (bits !== 8 && bits !== 16)
    throw new ProblemError('BITS_UNSUPPORTED', bits === 1 ? '1-bit (black and white) samples' : `${bits}-bit samples`)
  return bits
}

interface ChunkQuestion {
  readonly tiled: boolean
  readonly expected: number
  readonly fileSize: number
  readonly needed: ((chunk: number) => number) | null
}

function chunkPlaces(
  directory: TiffDirectory,
  { tiled, expected, fileSize, needed }: ChunkQuestion,
): { offsets: Float64Array; counts: Float64Array } {
  const name = tiled ? 'tile' : 'strip'
  // Some writers use the strip tags for tiles.
  const offsets =
    (tiled ? directory.numbers(TAG.tileOffsets, MOST_CHUNKS) : null) ?? directory.numbers(TAG.stripOffsets, MOST_CHUNKS)
  if (offsets === null) throw new ProblemError('SCAN_DAMAGED', `it does not say where its ${name}s lie`)
  let counts =
    (tiled ? directory.numbers(TAG.tileCounts, MOST_CHUNKS) : null) ?? directory.numbers(TAG.stripCounts, MOST_CHUNKS)
  if (counts === null) {
    if (needed === null) throw new ProblemError('SCAN_DAMAGED', `it does not say how long its ${name}s are`)
    counts = Float64Array.from(offsets, (_, chunk) => needed(chunk))
  }
  if (offsets.length !== expected || counts.length !== expected)
    throw new ProblemError(
      'SCAN_DAMAGED',
      `it lists ${offsets.length} ${name}s and ${counts.length} lengths where its size asks for ${expected}`,
    )
  for (let chunk = 0; chunk < expected; chunk++) {
    const offset = offsets[chunk]!
    const count = counts[chunk]!
    if (offset === 0 || count === 0)
      throw new ProblemError('SCAN_TRUNCATED', `${name} ${chunk + 1} of ${expected} is not written yet`)
    if (!(offset >= 8)) throw new ProblemError('SCAN_DAMAGED', `${name} ${chunk + 1} lies inside the header`)
    const least = needed === null ? count : needed(chunk)
    if (!(count >= least))
      throw new ProblemError('SCAN_DAMAGED', `${name} ${chunk + 1} has ${count} bytes where ${least} are needed`)
    if (!(offset + least <= fileSize))
      throw new ProblemError(
        'SCAN_TRUNCATED',
        `${name} ${chunk + 1} of ${expected} reaches to byte ${offset + least}, the file has ${fileSize}`,
      )
  }
  return { offsets, counts }
}

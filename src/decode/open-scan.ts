import { ProblemError } from '../model/problem.js'
import type { Channel, CodeWindow, OpenScan, ScanHeader } from '../model/scan.js'
import { chunkReader } from './chunk-reader.js'
import { countZeroRows } from './count-zero-rows.js'
import { fileKind } from './file-kind.js'
import { type CodeReader, plainStripReader } from './plain-strip-reader.js'
import { pngHeader } from './png-header.js'
import { readDirectories, type TiffDirectories } from './read-directories.js'
import { openScanFile, type ScanFile } from './scan-file.js'
import { scanTags } from './scan-tags.js'
import { type TiffLayout, tiffLayout } from './tiff-layout.js'
import { type UnpackShare, unpackCodes, unpackRows } from './unpack-codes.js'
import { unpackThroughSharp } from './unpack-through-sharp.js'
import { keptPicture } from './unpacked-picture.js'

export interface OpenScanOptions {
  /** Channel to read from a colour scan; a grey scan has only `grey`. */
  readonly channel: Channel
  /** Where a picture that must be unpacked first is put; nothing stays there after `close`. */
  readonly tempDir: string
  readonly signal?: AbortSignal
  /** Compressed pages of more bytes than this, unpacked, are unpacked once into `tempDir` where there is room; 64 MiB when not told. */
  readonly unpackAbove?: number
  /** It is open elsewhere (`OpenScan.file`) and was checked there. */
  readonly again?: true
  /** Only what it says of itself is wanted: its pixels are then neither unpacked nor checked. */
  readonly headerOnly?: true
  /** What was unpacked stays after `close` (`OpenScan.file` says where): whoever asks this deletes it with `removeUnpacked`. */
  readonly keepUnpacked?: true
  /** Where a scan of the same file and channel, opened with `keepUnpacked`, was unpacked to; when it is gone it is unpacked anew. */
  readonly unpackedBefore?: string
  /** Has rows unpacked by another thread (`unpackShare`) while this one unpacks the rest. */
  readonly unpackBeside?: (share: UnpackShare) => Promise<void>
}

/** So many rows of nothing but zero at the very end mean a scan that is still being written. */
const UNFINISHED_ROWS = 8

/**
 * Opens a TIFF or PNG scan and checks what can be checked cheaply: that it can be measured, that every strip lies within the file,
 * that it does not end in rows still unwritten. Codes come out exactly as stored (8-bit ones times 257, min-is-white ones turned).
 * A band's codes are valid only until `visit` returns.
 * @throws ProblemError FILE_*, NOT_A_SCAN, SCAN_*, BITS_UNSUPPORTED, COLOUR_UNSUPPORTED, COMPRESSION_*
 */
export async function openScan(file: string, options: OpenScanOptions): Promise<OpenScan> {
  options.signal?.throwIfAborted()
  const bytes = openScanFile(file)
  try {
    return fileKind(bytes) === 'png' ? await openPng(bytes, options) : await openTiff(bytes, options)
  } catch (error) {
    bytes.close()
    throw error
  }
}

async function openTiff(file: ScanFile, options: OpenScanOptions): Promise<OpenScan> {
  const directories = readDirectories(file)
  const warnings: string[] = []
  const page = firstFullPage(directories, warnings)
  const layout = tiffLayout(directories.pages[page]!, directories.littleEndian, file.size)
  const tags = scanTags(directories.pages[page]!)
  warnings.push(...layout.warnings, ...tags.warnings)
  const header = {
    file: file.path,
    format: 'tiff' as const,
    dpi: tags.dpi,
    compression: layout.compression,
    maker: tags.maker,
    model: tags.model,
    taggedAt: tags.taggedAt,
  }
  refuseOldLzw(file, layout)
  const storedZero = layout.minIsWhite ? 65535 : 0
  const stored = directories.pages[page]!.numbers(SAMPLES, 1)?.[0] ?? 1
  const packed = { ...layout, page, stored, storedZero }
  const sharpNeeded = needsSharp(layout)
  if (options.headerOnly === true)
    return scanOfLayout(file, layout, storedZero, header, warnings, { ...options, again: true }, file.close).scan
  if (sharpNeeded) return unpacked(file, packed, header, warnings, options)
  const bytes = layout.width * layout.height * stored * (layout.bits / 8)
  const { scan, reader } = scanOfLayout(file, layout, storedZero, header, warnings, options, file.close)
  if (layout.compression === 'none' || !(bytes > (options.unpackAbove ?? MOST_REPEATED_BYTES))) return scan
  try {
    return await unpackedOnce(scan, reader, options)
  } catch (error) {
    // Without room for it the chunks are unpacked each time they are asked for.
    if (error instanceof ProblemError && error.problem.code === 'FILE_NOT_READABLE') return scan
    throw error
  }
}

/** Unpacks the channel that is read into a temporary file and reads that; the scan given is closed. */
async function unpackedOnce(scan: OpenScan, packed: CodeReader, options: OpenScanOptions): Promise<OpenScan> {
  const picture =
    keptPicture(options.unpackedBefore) ??
    (await unpackCodes(scan.header, packed, options.tempDir, options.unpackBeside))
  try {
    const codes = openScanFile(picture.path)
    const { pages, littleEndian } = readDirectories(codes)
    const reader = plainStripReader(codes, tiffLayout(pages[0]!, littleEndian, codes.size), 0, 0)
    scan.close()
    return scanOf(scan.header, reader, options, codes.path, () => {
      codes.close()
      if (options.keepUnpacked !== true) picture.remove()
    })
  } catch (error) {
    picture.remove()
    throw error
  }
}

/**
 * Unpacks the rows of a share: what another thread does of `unpackBeside`.
 * @throws ProblemError as `openScan`; RangeError of a scan that is not unpacked by chunks of rows
 */
export async function unpackShare({ file, channel, ...rows }: UnpackShare): Promise<void> {
  const bytes = openScanFile(file)
  try {
    const directories = readDirectories(bytes)
    const page = firstFullPage(directories, [])
    const layout = tiffLayout(directories.pages[page]!, directories.littleEndian, bytes.size)
    unpackRows(layout.width, readerOf(bytes, layout, channel), rows)
  } finally {
    bytes.close()
  }
}

async function openPng(file: ScanFile, options: OpenScanOptions): Promise<OpenScan> {
  const png = pngHeader(file)
  const bytes = png.width * png.height * png.stored * (png.bits / 8)
  // Interlaced rows come in seven passes over the page, so the decoder holds all of it in memory.
  if (png.interlaced && bytes > MOST_INTERLACED_BYTES)
    throw new ProblemError('COMPRESSION_UNSUPPORTED', `interlaced PNG of ${Math.round(bytes / 1e6)} MB in`)
  const header = {
    file: file.path,
    format: 'png' as const,
    dpi: png.dpi,
    compression: 'PNG Deflate',
    maker: null,
    model: null,
    taggedAt: null,
  }
  const warnings = [...png.warnings]
  if (options.headerOnly === true)
    return scanOf(scanHeader(png, header, warnings, options), NOT_READ, options, file.path, file.close)
  return unpacked(file, { ...png, page: 0, storedZero: 0 }, header, warnings, options)
}

/** Compressed chunks larger than this when unpacked are left to sharp, which reads them row by row. */
const MOST_CHUNK_BYTES = 64 << 20
const MOST_STRIP_BYTES = 700e6
const MOST_INTERLACED_BYTES = 256 << 20
/** A page is gone over several times: compressed ones larger than this are unpacked once, for it takes longer than all the rest. */
const MOST_REPEATED_BYTES = 64 << 20

function needsSharp(layout: TiffLayout): boolean {
  if (layout.compression === 'none' && !layout.tiled) return false
  const chunkBytes = layout.chunkWidth * layout.chunkHeight * layout.samples * (layout.bits / 8)
  // Tiles are decoded whole by every decoder, and separate planes as whole strips by sharp's: 24 GB were seen for one.
  if ((layout.tiled || layout.planar) && chunkBytes > MOST_CHUNK_BYTES)
    throw new ProblemError(
      'COMPRESSION_UNSUPPORTED',
      `${layout.compression === 'none' ? 'tiled' : layout.compression} (${layout.tiled ? 'tiles' : 'planes in strips'} of ${Math.round(chunkBytes / 1e6)} MB)`,
    )
  if (!(chunkBytes > MOST_CHUNK_BYTES)) return false
  // sharp keeps the compressed strip in memory, though not what comes out of it.
  const largest = layout.counts.reduce((most, count) => Math.max(most, count), 0)
  if (largest > MOST_STRIP_BYTES)
    throw new ProblemError(
      'COMPRESSION_UNSUPPORTED',
      `${layout.compression} (strips of ${Math.round(largest / 1e6)} MB, compressed)`,
    )
  return true
}

/** LZW from before 1992 packs low bits first; its stream begins with the clear code, which then reads 0, 1. */
function refuseOldLzw(file: ScanFile, layout: TiffLayout): void {
  if (layout.compression !== 'LZW') return
  const start = file.read(layout.offsets[0]!, Math.min(2, layout.counts[0]!))
  if (start[0] === 0 && (start[1]! & 1) === 1) throw new ProblemError('COMPRESSION_UNSUPPORTED', 'old-style LZW')
}

type Packed = Pick<TiffLayout, 'width' | 'height' | 'bits' | 'channels'> & {
  readonly page: number
  readonly stored: number
  /** The code that a stored 0 comes out as: sharp turns min-is-white by itself. */
  readonly storedZero: number
}

/** Unpacks into a temporary file and reads that; the scan given is closed. */
async function unpacked(
  file: ScanFile,
  packed: Packed,
  header: HeaderPart,
  warnings: string[],
  options: OpenScanOptions,
): Promise<OpenScan> {
  const bytes = packed.width * packed.height * packed.stored * (packed.bits / 8)
  const picture =
    keptPicture(options.unpackedBefore) ??
    (await unpackThroughSharp({ ...packed, path: file.path, bytes }, options.tempDir, options.signal))
  let plain: ScanFile | null = null
  try {
    const opened = openScanFile(picture.path)
    plain = opened
    const { pages, littleEndian } = readDirectories(opened)
    const layout = tiffLayout(pages[0]!, littleEndian, opened.size)
    const same = (['width', 'height', 'bits', 'channels'] as const).every(key => layout[key] === packed[key])
    if (!same)
      throw new Error(`${file.path} came out of sharp as ${JSON.stringify({ ...layout, offsets: 0, counts: 0 })}`)
    const release = (): void => {
      opened.close()
      if (options.keepUnpacked !== true) picture.remove()
    }
    const { scan } = scanOfLayout(opened, layout, packed.storedZero, header, warnings, options, release)
    file.close()
    return scan
  } catch (error) {
    plain?.close()
    picture.remove()
    throw error
  }
}

const SUBFILE_TYPE = 254
const SAMPLES = 277
/** Index of the first page that is neither a thumbnail nor a mask (TIFF 6.0, NewSubfileType bits 0 and 2). */
function firstFullPage(directories: TiffDirectories, warnings: string[]): number {
  const full = directories.pages.flatMap((page, index) =>
    ((page.numbers(SUBFILE_TYPE, 1)?.[0] ?? 0) & 5) === 0 ? [index] : [],
  )
  if (full.length > 1) warnings.push(`The file holds ${full.length} pages; the first was read.`)
  if (directories.chainBroken) warnings.push('The file names a further page that is not in it.')
  return full[0] ?? 0
}

type HeaderPart = Pick<ScanHeader, 'file' | 'format' | 'dpi' | 'compression' | 'maker' | 'model' | 'taggedAt'>

function scanOfLayout(
  file: ScanFile,
  layout: TiffLayout,
  storedZero: number,
  part: HeaderPart,
  warnings: string[],
  options: OpenScanOptions,
  release: () => void,
): { readonly scan: OpenScan; readonly reader: CodeReader } {
  const { width, height } = layout
  const header = scanHeader(layout, part, warnings, options)
  const reader = readerOf(file, layout, header.channel)
  // With 8 bits a black holder at the end of the page is 0 all over, and means nothing.
  if (layout.bits === 16 && options.again !== true) {
    let rows = height
    const index = indexOf(header.channel)
    for (let c = 0; c < layout.channels && rows > 0; c++)
      rows = Math.min(rows, countZeroRows(c === index ? reader : readerAt(file, layout, c), width, height, storedZero))
    if (rows >= UNFINISHED_ROWS) throw new ProblemError('SCAN_UNFINISHED', `${rows} of ${height} rows`)
  }

  return { scan: scanOf(header, reader, options, file.path, release), reader }
}

function readerOf(file: ScanFile, layout: TiffLayout, channel: Channel): CodeReader {
  return readerAt(file, layout, indexOf(channel))
}

function readerAt(file: ScanFile, layout: TiffLayout, index: number): CodeReader {
  const make = layout.compression === 'none' && !layout.tiled ? plainStripReader : chunkReader
  return layout.planar ? make(file, layout, 0, index) : make(file, layout, index, 0)
}

function indexOf(channel: Channel): number {
  return channel === 'green' ? 1 : channel === 'blue' ? 2 : 0
}

/** The header of a scan of which the channel is chosen. */
function scanHeader(
  layout: Pick<TiffLayout, 'width' | 'height' | 'bits' | 'channels'>,
  part: HeaderPart,
  warnings: string[],
  options: OpenScanOptions,
): ScanHeader {
  const { width, height, bits, channels } = layout
  const channel = chosenChannel(layout, options.channel, warnings)
  if (bits === 8)
    warnings.push('The scan has only 8-bit values: deep densities cannot be told apart. Scan with 16 bits.')
  return { ...part, width, height, bits, channels, channel, warnings }
}

/** Of a scan of which only the header was wanted. */
const NOT_READ: CodeReader = {
  readWindow: () => {
    throw new Error('the scan was opened for its header only')
  },
  forEachBand: () => {
    throw new Error('the scan was opened for its header only')
  },
}

function scanOf(
  header: ScanHeader,
  reader: CodeReader,
  options: OpenScanOptions,
  file: string,
  release: () => void,
): OpenScan {
  const { width, height } = header
  return {
    header,
    readWindow(rect): CodeWindow {
      const { column, row } = rect
      const whole = [column, row, rect.width, rect.height].every(Number.isInteger)
      if (
        !(whole && column >= 0 && row >= 0 && rect.width >= 1 && rect.height >= 1) ||
        !(column + rect.width <= width && row + rect.height <= height)
      )
        throw new RangeError(
          `window ${rect.width} x ${rect.height} at ${column}, ${row} must lie within the page of ${width} x ${height}`,
        )
      return reader.readWindow({ column, row, width: rect.width, height: rect.height })
    },
    forEachBand(visit): void {
      reader.forEachBand(band => {
        options.signal?.throwIfAborted()
        visit(band)
      })
    },
    file,
    close: release,
  }
}

function chosenChannel(layout: Pick<TiffLayout, 'channels'>, asked: Channel, warnings: string[]): Channel {
  if (layout.channels === 1) return 'grey'
  if (asked !== 'grey') return asked
  warnings.push('The scan is in colour and grey was asked for; its blue channel was read.')
  return 'blue'
}

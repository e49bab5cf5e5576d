import { ProblemError } from '../model/problem.js'
import type { Channel, CodeWindow, OpenScan, ScanHeader } from '../model/scan.js'
import { chunkReader } from './chunk-reader.js'
import { countZeroRows } from './count-zero-rows.js'
import { type CodeReader, plainStripReader } from './plain-strip-reader.js'
import { readDirectories, type TiffDirectories, type TiffDirectory } from './read-directories.js'
import { openScanFile, type ScanFile } from './scan-file.js'
import { scanTags } from './scan-tags.js'
import { type TiffLayout, tiffLayout } from './tiff-layout.js'

export interface OpenScanOptions {
  /** Channel to read from a colour scan; a grey scan has only `grey`. */
  readonly channel: Channel
  /** Where a picture that must be unpacked first is put; nothing stays there after `close`. */
  readonly tempDir: string
  readonly signal?: AbortSignal
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
    return openTiff(bytes, options)
  } catch (error) {
    bytes.close()
    throw error
  }
}

function openTiff(file: ScanFile, options: OpenScanOptions): OpenScan {
  const directories = readDirectories(file)
  const warnings: string[] = []
  const page = firstFullPage(directories, warnings)
  const layout = tiffLayout(page, directories.littleEndian, file.size)
  const tags = scanTags(page)
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
  return scanOfLayout(file, layout, header, warnings, options, () => file.close())
}

const SUBFILE_TYPE = 254
/** The first page that is neither a thumbnail nor a mask (TIFF 6.0, NewSubfileType bits 0 and 2). */
function firstFullPage(directories: TiffDirectories, warnings: string[]): TiffDirectory {
  const full = directories.pages.filter(page => ((page.numbers(SUBFILE_TYPE, 1)?.[0] ?? 0) & 5) === 0)
  if (full.length > 1) warnings.push(`The file holds ${full.length} pages; the first was read.`)
  if (directories.chainBroken) warnings.push('The file names a further page that is not in it.')
  return full[0] ?? directories.pages[0]!
}

type HeaderPart = Pick<ScanHeader, 'file' | 'format' | 'dpi' | 'compression' | 'maker' | 'model' | 'taggedAt'>

function scanOfLayout(
  file: ScanFile,
  layout: TiffLayout,
  part: HeaderPart,
  warnings: string[],
  options: OpenScanOptions,
  release: () => void,
): OpenScan {
  const { width, height } = layout
  const channel = chosenChannel(layout, options.channel, warnings)
  if (layout.bits === 8)
    warnings.push('The scan has only 8-bit values: deep densities cannot be told apart. Scan with 16 bits.')
  const readerOf = (index: number): CodeReader => {
    const make = layout.compression === 'none' && !layout.tiled ? plainStripReader : chunkReader
    return layout.planar ? make(file, layout, 0, index) : make(file, layout, index, 0)
  }
  const index = channel === 'green' ? 1 : channel === 'blue' ? 2 : 0
  const reader = readerOf(index)
  // With 8 bits a black holder at the end of the page is 0 all over, and means nothing.
  if (layout.bits === 16) {
    let rows = height
    for (let c = 0; c < layout.channels && rows > 0; c++)
      rows = Math.min(
        rows,
        countZeroRows(c === index ? reader : readerOf(c), width, height, layout.minIsWhite ? 65535 : 0),
      )
    if (rows >= UNFINISHED_ROWS) throw new ProblemError('SCAN_UNFINISHED', `${rows} of ${height} rows`)
  }

  const header: ScanHeader = { ...part, width, height, bits: layout.bits, channels: layout.channels, channel, warnings }
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
    close: release,
  }
}

function chosenChannel(layout: TiffLayout, asked: Channel, warnings: string[]): Channel {
  if (layout.channels === 1) return 'grey'
  if (asked !== 'grey') return asked
  warnings.push('The scan is in colour and grey was asked for; its blue channel was read.')
  return 'blue'
}

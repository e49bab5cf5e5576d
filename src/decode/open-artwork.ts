import { mkdirSync, mkdtempSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { ONES } from '../imaging/count-ones.js'
import { pageBytes } from '../imaging/page-room.js'
import type { ArtworkBitmap } from '../model/artwork.js'
import type { Dpi } from '../model/geometry.js'
import { ProblemError } from '../model/problem.js'
import { fileKind } from './file-kind.js'
import { LONGEST_SIDE } from './page-size.js'
import { plainStripReader } from './plain-strip-reader.js'
import { pngResolution } from './png-resolution.js'
import { readDirectories } from './read-directories.js'
import { openScanFile, type ScanFile } from './scan-file.js'
import { scanTags } from './scan-tags.js'
import { tiffLayout } from './tiff-layout.js'

/** Packed, so many pixels are 150 MB: A2 at 1440 dpi is two thirds of it. */
const MOST_PIXELS = 1.2e9
/** Values within this of black or white are black or white, of 255: some programs write 1 and 254. */
const NEARLY = 16
/** More than this share of greys is a picture of the separation, not the separation. */
const MOST_GREY = 1e-4
/** A separation coarser than this cannot be one, dpi. */
const LEAST_DPI = 50

/**
 * Opens a 1-bit separation: TIFF or PNG of any resolution and layout, black is ink whichever way the file stores it. Files of 8 or
 * 16 bits, palettes and colour are accepted when they hold black and white only; transparent is white. Its resolution must be in the file.
 * @param tempDir where it is unpacked for a moment
 * @throws ProblemError FILE_*, ARTWORK_*
 */
export async function openArtwork(path: string, { tempDir }: { readonly tempDir: string }): Promise<ArtworkBitmap> {
  const warnings: string[] = []
  const file = openScanFile(path)
  let said: ReturnType<typeof whatItSays>
  try {
    said = whatItSays(file, warnings)
  } catch (error) {
    throw asArtworkProblem(error)
  } finally {
    file.close()
  }
  const { dpi, page, oneBit } = said
  if (dpi === null) throw new ProblemError('ARTWORK_NO_RESOLUTION', warnings.join(' '))
  if (!(dpi.across >= LEAST_DPI && dpi.along >= LEAST_DPI))
    throw new ProblemError(
      'ARTWORK_NO_RESOLUTION',
      `${round(dpi.across)} x ${round(dpi.along)} dpi is a screen’s, no printer’s`,
    )
  const { default: sharp } = await import('sharp')
  const picture = sharp(path, { ignoreIcc: true, limitInputPixels: false, unlimited: true, sequentialRead: true, page })
  let folder: string
  try {
    const { width, height } = await picture.metadata()
    if (!(width <= LONGEST_SIDE && height <= LONGEST_SIDE && width * height <= MOST_PIXELS))
      throw new ProblemError('ARTWORK_TOO_LARGE', `${width} x ${height} pixels`)
    mkdirSync(tempDir, { recursive: true })
    folder = mkdtempSync(join(tempDir, 'artwork-'))
  } catch (error) {
    throw asArtworkProblem(error)
  }
  try {
    const plain = join(folder, 'artwork.tif')
    await picture
      .flatten({ background: '#ffffff' })
      .toColourspace('b-w')
      // What has one bit a pixel holds no greys: it is unpacked to bits, an eighth of the bytes.
      .tiff({ compression: 'none', predictor: 'none', ...(oneBit ? { bitdepth: 1 as const } : {}) })
      .toFile(plain)
    return { file: path, dpi, warnings, ...(oneBit ? asBits(plain) : packed(plain)) }
  } catch (error) {
    throw asArtworkProblem(error)
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

function whatItSays(file: ScanFile, warnings: string[]): { dpi: Dpi | null; page: number; oneBit: boolean } {
  if (fileKind(file) === 'png') return { dpi: pngResolution(file, warnings), page: 0, oneBit: isOneBitPng(file) }
  const { pages } = readDirectories(file)
  // A thumbnail is no separation (TIFF 6.0, NewSubfileType bits 0 and 2).
  const full = pages.flatMap((one, index) => (((one.numbers(254, 1)?.[0] ?? 0) & 5) === 0 ? [index] : []))
  if (full.length > 1) warnings.push(`The artwork file holds ${full.length} pages; its first was taken.`)
  const page = full[0] ?? 0
  const tags = scanTags(pages[page]!)
  warnings.push(...tags.warnings)
  const one = (tag: number): number => pages[page]!.numbers(tag, 8)?.[0] ?? 1
  return { dpi: tags.dpi, page, oneBit: one(TAG.bits) === 1 && one(TAG.samples) === 1 && one(TAG.photometric) <= 1 }
}

const TAG = { bits: 258, photometric: 262, stripOffsets: 273, samples: 277, stripCounts: 279 } as const

/** One bit a pixel, grey (PNG, third edition, 11.2.1): a palette may hold any two colours. */
function isOneBitPng(file: ScanFile): boolean {
  if (file.size < 26) return false
  const [bits, kind] = file.read(24, 2)
  return bits === 1 && kind === 0
}

/** Bits of a plain 1-bit file, turned so that 1 is black. */
function asBits(path: string): Pick<ArtworkBitmap, 'width' | 'height' | 'bits' | 'rowBytes' | 'inkShare'> {
  const file = openScanFile(path)
  try {
    const page = readDirectories(file).pages[0]!
    const [width, height] = [page.numbers(256, 1)![0]!, page.numbers(257, 1)![0]!]
    const rowBytes = (width + 7) >> 3
    const bits = pageBytes(rowBytes * height)
    const offsets = page.numbers(TAG.stripOffsets, height)!
    const counts = page.numbers(TAG.stripCounts, height)!
    let at = 0
    offsets.forEach((offset, strip) => {
      const length = Math.min(counts[strip]!, bits.length - at)
      file.readInto(bits, at, length, offset)
      at += length
    })
    // Zero is black unless it says otherwise.
    const flip = page.numbers(TAG.photometric, 1)![0] === 0 ? 0 : 0xff
    const spare = (0xff << (8 * rowBytes - width)) & 0xff
    let ink = 0
    for (let r = 0; r < height; r++) {
      const row = r * rowBytes
      for (let i = row; i < row + rowBytes; i++) bits[i]! ^= flip
      bits[row + rowBytes - 1]! &= spare
      for (let i = row; i < row + rowBytes; i++) ink += ONES[bits[i]!]!
    }
    return { width, height, bits, rowBytes, inkShare: ink / (width * height) }
  } finally {
    file.close()
  }
}

/** Packs an 8-bit grey file into bits, 1 for black. */
function packed(path: string): Pick<ArtworkBitmap, 'width' | 'height' | 'bits' | 'rowBytes' | 'inkShare'> {
  const file = openScanFile(path)
  try {
    const { pages, littleEndian } = readDirectories(file)
    const layout = tiffLayout(pages[0]!, littleEndian, file.size)
    const { width, height } = layout
    const rowBytes = (width + 7) >> 3
    const bits = pageBytes(rowBytes * height)
    const scale = 257
    const black = NEARLY * scale
    const white = (255 - NEARLY) * scale
    const half = 128 * scale
    let ink = 0
    let grey = 0
    plainStripReader(file, layout, 0, 0).forEachBand(band => {
      for (let r = 0; r < band.height; r++) {
        const into = (band.row + r) * rowBytes
        let at = r * width
        for (let c = 0; c < width; c++, at++) {
          const code = band.codes[at]!
          if (code > black && code < white) grey++
          if (code < half) {
            bits[into + (c >> 3)]! |= 0x80 >> (c & 7)
            ink++
          }
        }
      }
    })
    if (!(grey <= MOST_GREY * width * height))
      throw new ProblemError(
        'ARTWORK_NOT_BLACK_AND_WHITE',
        `${((100 * grey) / (width * height)).toFixed(1)} % of its pixels are neither black nor white`,
      )
    return { width, height, bits, rowBytes, inkShare: ink / (width * height) }
  } finally {
    file.close()
  }
}

function asArtworkProblem(error: unknown): unknown {
  if (error instanceof ProblemError) {
    const { code, what } = error.problem
    if (code.startsWith('ARTWORK') || code === 'FILE_MISSING' || code === 'FILE_NOT_READABLE') return error
    if (code === 'NOT_A_SCAN') return new ProblemError('ARTWORK_NOT_A_PICTURE', /\((.*)\)/.exec(what)?.[1] ?? '')
    if (code === 'COMPRESSION_LOSSY')
      return new ProblemError('ARTWORK_NOT_A_PICTURE', 'it is a JPEG, whose losses make greys of edges')
    return new ProblemError('ARTWORK_DAMAGED', what)
  }
  if (!(error instanceof Error)) return error
  if (/no space|ENOSPC|unable to write|write error/i.test(error.message))
    return new ProblemError('FILE_NOT_WRITABLE', 'the artwork must be unpacked and the disk is full')
  return new ProblemError('ARTWORK_DAMAGED', 'its pixels cannot be unpacked')
}

function round(value: number): number {
  return Number(value.toFixed(1))
}

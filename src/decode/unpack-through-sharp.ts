import { mkdirSync, mkdtempSync, rmSync, statfsSync } from 'node:fs'
import { join } from 'node:path'
import { ProblemError } from '../model/problem.js'

/** What is to be unpacked, as its own header says. */
export interface PackedPicture {
  readonly path: string
  /** Page of a TIFF that holds several. */
  readonly page: number
  readonly bits: 8 | 16
  readonly channels: 1 | 3
  /** Bytes of the pixels when unpacked. */
  readonly bytes: number
}

export interface UnpackedPicture {
  /** An uncompressed TIFF with the same samples; min-is-white ones already turned. */
  readonly path: string
  /** Deletes it. Safe to call twice. */
  remove(): void
}

/**
 * Has sharp turn what the strip reader cannot read (PNG, one compressed strip for a whole page) into an uncompressed TIFF in `tempDir`.
 * Goes through a file because a page in memory may exceed what Node can hold. The colour space is held to that of
 * the file and its profile ignored, otherwise sharp converts the codes.
 * @throws ProblemError SCAN_TRUNCATED, SCAN_DAMAGED, FILE_NOT_READABLE (no room to unpack); the signal's reason when aborted
 */
export async function unpackThroughSharp(
  picture: PackedPicture,
  tempDir: string,
  signal?: AbortSignal,
): Promise<UnpackedPicture> {
  // Loaded only when needed: most scans are plain TIFF.
  const { default: sharp } = await import('sharp')
  let folder: string
  try {
    mkdirSync(tempDir, { recursive: true })
    requireRoom(tempDir, picture.bytes)
    folder = mkdtempSync(join(tempDir, 'unpacked-'))
  } catch (error) {
    if (error instanceof ProblemError) throw error
    throw new ProblemError('FILE_NOT_READABLE', `it must be unpacked and ${tempDir} cannot be written`)
  }
  const remove = (): void => rmSync(folder, { recursive: true, force: true })
  try {
    const path = join(folder, 'scan.tif')
    const grey = picture.channels === 1
    const space = picture.bits === 16 ? (grey ? 'grey16' : 'rgb16') : grey ? 'b-w' : 'srgb'
    await sharp(picture.path, {
      ignoreIcc: true,
      limitInputPixels: false,
      unlimited: true,
      sequentialRead: true,
      page: picture.page,
    })
      .pipelineColourspace(space)
      .toColourspace(space)
      .tiff({ compression: 'none', predictor: 'none' })
      .toFile(path)
    signal?.throwIfAborted()
    return { path, remove }
  } catch (error) {
    remove()
    if (signal?.aborted === true) throw signal.reason
    throw asProblem(error)
  }
}

function requireRoom(tempDir: string, bytes: number): void {
  const { bavail, bsize } = statfsSync(tempDir)
  if (!(bavail * bsize > bytes * 1.02 + (16 << 20)))
    throw new ProblemError(
      'FILE_NOT_READABLE',
      `unpacking it takes ${Math.ceil(bytes / 1e6)} MB and the disk of ${tempDir} has ${Math.floor((bavail * bsize) / 1e6)} MB free`,
    )
}

function asProblem(error: unknown): unknown {
  if (!(error instanceof Error)) return error
  const message = error.message
  if (/no space|write error|unable to write|ENOSPC/i.test(message))
    return new ProblemError('FILE_NOT_READABLE', 'it must be unpacked and the disk is full')
  if (/premature|truncat|unexpected end|not enough data|end of (file|stream)|eof|read error/i.test(message))
    return new ProblemError('SCAN_TRUNCATED', 'its pixels end early')
  return new ProblemError('SCAN_DAMAGED', 'its pixels cannot be unpacked')
}

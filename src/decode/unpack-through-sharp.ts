import { join } from 'node:path'
import { ProblemError } from '../model/problem.js'
import { removeUnpacked, type UnpackedPicture, unpackingFolder } from './unpacked-picture.js'

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

/**
 * Has sharp turn what the strip reader cannot read (PNG, one compressed strip for a whole page) into an uncompressed TIFF in `tempDir`, with the same
 * samples; min-is-white ones are turned.
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
  const path = join(unpackingFolder(tempDir, picture.bytes), 'scan.tif')
  const remove = (): void => removeUnpacked(path)
  try {
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

function asProblem(error: unknown): unknown {
  if (!(error instanceof Error)) return error
  const message = error.message
  if (/no space|write error|unable to write|ENOSPC/i.test(message))
    return new ProblemError('FILE_NOT_READABLE', 'it must be unpacked and the disk is full')
  if (/premature|truncat|unexpected end|not enough data|end of (file|stream)|eof|read error/i.test(message))
    return new ProblemError('SCAN_TRUNCATED', 'its pixels end early')
  return new ProblemError('SCAN_DAMAGED', 'its pixels cannot be unpacked')
}

import { existsSync, mkdirSync, mkdtempSync, rmSync, statfsSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { ProblemError } from '../model/problem.js'

/** A packed scan's pixels as an uncompressed TIFF in a folder of its own. */
export interface UnpackedPicture {
  readonly path: string
  /** Deletes it. Safe to call twice. */
  remove(): void
}

/**
 * A new folder for what will be unpacked, where there is room for so many bytes.
 * @throws ProblemError FILE_NOT_READABLE
 */
export function unpackingFolder(tempDir: string, bytes: number): string {
  try {
    mkdirSync(tempDir, { recursive: true })
    requireRoom(tempDir, bytes)
    return mkdtempSync(join(tempDir, 'unpacked-'))
  } catch (error) {
    if (error instanceof ProblemError) throw error
    throw new ProblemError('FILE_NOT_READABLE', `it must be unpacked and ${tempDir} cannot be written`)
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

/** Deletes what was unpacked, with its folder. @param path of the picture */
export function removeUnpacked(path: string): void {
  rmSync(dirname(path), { recursive: true, force: true })
}

/** What was unpacked before, where it is still there; whoever unpacked it deletes it. */
export function keptPicture(path: string | undefined): UnpackedPicture | null {
  return path !== undefined && existsSync(path) ? { path, remove: () => {} } : null
}

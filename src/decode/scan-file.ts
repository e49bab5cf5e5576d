import { closeSync, fstatSync, openSync, readSync, statSync } from 'node:fs'
import { ProblemError } from '../model/problem.js'

/** A file opened for reading at any position. Nothing is kept in memory. */
export interface ScanFile {
  readonly path: string
  /** Bytes, when it was opened. */
  readonly size: number
  /**
   * Reads `length` bytes at `position` into `into`, from its byte `at`.
   * @throws ProblemError SCAN_TRUNCATED when the file ends before, FILE_NOT_READABLE when the disk or share refuses
   */
  readInto(into: Uint8Array, at: number, length: number, position: number): void
  /** The same into a buffer of its own. Callers bound `length`. */
  read(position: number, length: number): Buffer
  /** Safe to call twice. */
  close(): void
}

/**
 * Opens a file for reading.
 * @throws ProblemError FILE_MISSING, FILE_EMPTY, FILE_NOT_READABLE (no permission, a folder, a pipe)
 */
export function openScanFile(path: string): ScanFile {
  let descriptor: number
  let size: number
  try {
    // Asked before opening: opening a pipe that nobody writes to would wait for ever.
    if (!statSync(path).isFile()) throw new ProblemError('FILE_NOT_READABLE', `${path} is not a file`)
    descriptor = openSync(path, 'r')
    size = fstatSync(descriptor).size
  } catch (error) {
    throw asProblem(error, path)
  }
  let open = true
  const close = (): void => {
    if (open) closeSync(descriptor)
    open = false
  }
  if (size === 0) {
    close()
    throw new ProblemError('FILE_EMPTY')
  }

  const readInto = (into: Uint8Array, at: number, length: number, position: number): void => {
    if (!open) throw new Error(`${path} was read after it was closed`)
    let done = 0
    while (done < length) {
      let got: number
      try {
        got = readSync(descriptor, into, at + done, length - done, position + done)
      } catch (error) {
        throw asProblem(error, path)
      }
      if (got === 0)
        throw new ProblemError('SCAN_TRUNCATED', `it ends at byte ${position + done}, ${length - done} bytes early`)
      done += got
    }
  }
  const read = (position: number, length: number): Buffer => {
    if (position + length > size)
      throw new ProblemError('SCAN_TRUNCATED', `it has ${size} bytes, and ${position + length} are needed`)
    const bytes = Buffer.allocUnsafeSlow(length)
    readInto(bytes, 0, length, position)
    return bytes
  }
  return { path, size, readInto, read, close }
}

function asProblem(error: unknown, path: string): unknown {
  if (!(error instanceof Error) || error instanceof ProblemError) return error
  const code = (error as NodeJS.ErrnoException).code
  if (code === undefined || (error as NodeJS.ErrnoException).syscall === undefined) return error
  if (code === 'ENOENT' || code === 'ENOTDIR') return new ProblemError('FILE_MISSING', path)
  return new ProblemError('FILE_NOT_READABLE', code)
}

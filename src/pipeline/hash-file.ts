import { createHash } from 'node:crypto'
import { open, stat } from 'node:fs/promises'
import { ProblemError } from '../model/problem.js'

/** What tells one state of a file from another without reading it. */
export interface FileState {
  readonly size: number
  readonly mtimeMs: number
  readonly ino: number
}

export interface HashedFile {
  readonly sha256: string
  /** The state the content was read in. */
  readonly state: FileState
}

/** @throws ProblemError FILE_MISSING, FILE_NOT_READABLE */
export async function fileState(file: string): Promise<FileState> {
  try {
    const { size, mtimeMs, ino } = await stat(file)
    return { size, mtimeMs, ino }
  } catch (error) {
    throw unreadable(file, error)
  }
}

export function sameState(a: FileState, b: FileState): boolean {
  return a.size === b.size && a.mtimeMs === b.mtimeMs && a.ino === b.ino
}

/** Read and hashed at once, bytes. */
const PIECE_BYTES = 1 << 20

/**
 * SHA-256 of a file's content, read as a stream, with the state the file had.
 * @throws ProblemError FILE_MISSING, FILE_NOT_READABLE, SCAN_STILL_GROWING when it changed while it was read
 */
export async function hashFile(file: string): Promise<HashedFile> {
  const before = await fileState(file)
  const hash = createHash('sha256')
  try {
    const handle = await open(file, 'r')
    try {
      // Two places in turn: one is read into while the other is hashed.
      const places = [Buffer.allocUnsafeSlow(PIECE_BYTES), Buffer.allocUnsafeSlow(PIECE_BYTES)]
      let reading = handle.read(places[0]!, 0, PIECE_BYTES, 0)
      for (let at = 0, turn = 1; ; turn = 1 - turn) {
        const { bytesRead, buffer } = await reading
        if (bytesRead === 0) break
        at += bytesRead
        reading = handle.read(places[turn]!, 0, PIECE_BYTES, at)
        hash.update(buffer.subarray(0, bytesRead))
      }
    } finally {
      await handle.close()
    }
  } catch (error) {
    throw unreadable(file, error)
  }
  if (!sameState(before, await fileState(file)))
    throw new ProblemError('SCAN_STILL_GROWING', 'it had been still for a while')
  return { sha256: hash.digest('hex'), state: before }
}

function unreadable(file: string, error: unknown): unknown {
  const { code, syscall } = error as NodeJS.ErrnoException
  if (code === undefined || syscall === undefined) return error
  if (code === 'ENOENT' || code === 'ENOTDIR') return new ProblemError('FILE_MISSING', file)
  return new ProblemError('FILE_NOT_READABLE', `${file}: ${code}`)
}

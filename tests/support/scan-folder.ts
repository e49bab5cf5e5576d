import { mkdtempSync, rmSync, utimesSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

/** A folder of the test's own, under the machine's folder for temporary files. */
export interface ScanFolder {
  readonly path: string
  /** Writes a file into it, an hour older than the clock most tests run by, and returns its path. */
  put(name: string, bytes: Uint8Array | string): string
  remove(): void
}

/** A scan cannot be newer than the clock it is inspected by. */
const WRITTEN = new Date('2025-03-04T11:00:00Z')

export function scanFolder(): ScanFolder {
  const path = mkdtempSync(join(tmpdir(), 'burngate-test-'))
  return {
    path,
    put(name, bytes) {
      const file = join(path, name)
      writeFileSync(file, bytes)
      utimesSync(file, WRITTEN, WRITTEN)
      return file
    },
    remove: () => rmSync(path, { recursive: true, force: true }),
  }
}

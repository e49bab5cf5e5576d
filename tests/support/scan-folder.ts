import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

/** A folder of the test's own, under the machine's folder for temporary files. */
export interface ScanFolder {
  readonly path: string
  /** Writes a file into it and returns its path. */
  put(name: string, bytes: Uint8Array | string): string
  remove(): void
}

export function scanFolder(): ScanFolder {
  const path = mkdtempSync(join(tmpdir(), 'burngate-test-'))
  return {
    path,
    put(name, bytes) {
      const file = join(path, name)
      writeFileSync(file, bytes)
      return file
    },
    remove: () => rmSync(path, { recursive: true, force: true }),
  }
}

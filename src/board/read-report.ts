import { readFile, realpath, stat } from 'node:fs/promises'
import { join, sep } from 'node:path'

/**
 * A file below a folder, by the steps of its path as `answerRequest` let them through.
 * @returns null when there is none, or when a link leads out of the folder
 */
export async function readReport(folder: string, steps: readonly string[]): Promise<Uint8Array | null> {
  try {
    const root = await realpath(folder)
    const file = await realpath(join(root, ...steps))
    if (!file.startsWith(root + sep) || !(await stat(file)).isFile()) return null
    return await readFile(file)
  } catch (error) {
    const { code = '' } = error as NodeJS.ErrnoException
    if (['ENOENT', 'ENOTDIR', 'EACCES', 'ELOOP', 'ENAMETOOLONG'].includes(code)) return null
    throw error
  }
}

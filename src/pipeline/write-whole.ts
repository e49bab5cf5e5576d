import { mkdir } from 'node:fs/promises'
import { dirname } from 'node:path'
import writeFileAtomic from 'write-file-atomic'
import { ProblemError } from '../model/problem.js'

/**
 * Writes a file whole or not at all, text as UTF-8: beside, on the disk, then renamed. Makes the folder when it is not there.
 * @throws ProblemError FILE_NOT_WRITABLE
 */
export async function writeWhole(file: string, content: string | Uint8Array): Promise<void> {
  await writing(file, async () => {
    await mkdir(dirname(file), { recursive: true })
    await writeFileAtomic(file, typeof content === 'string' ? content : Buffer.from(content), 'utf8')
  })
}

/** Runs a writing of `file`; what the disk refuses becomes a problem a person can act on. */
export async function writing<T>(file: string, work: () => Promise<T>): Promise<T> {
  try {
    return await work()
  } catch (error) {
    if (error instanceof ProblemError || !(error instanceof Error)) throw error
    const { code, syscall } = error as NodeJS.ErrnoException
    if (code === undefined || syscall === undefined) throw error
    throw new ProblemError('FILE_NOT_WRITABLE', `${file}: ${code}`)
  }
}

import { constants } from 'node:fs'
import { copyFile, link, mkdir, open, rename, rm, stat } from 'node:fs/promises'
import { dirname, join } from 'node:path'
import type { ScanArrival } from '../model/arrival.js'
import { ProblemError } from '../model/problem.js'
import { type FileState, fileState, sameState } from './hash-file.js'
import { writeWhole, writing } from './write-whole.js'

/** What is put away. */
export interface ArchiveTask {
  readonly arrival: ScanArrival
  readonly sha256: string
  /** The file as it was hashed. */
  readonly state: FileState
  readonly format: 'tiff' | 'png'
  readonly archive: string
  /** A folder of this process alone on the same disk, where the copy is made. */
  readonly temporary: string
  readonly now: Date
  /**
   * Whether the archive may share the file's own bytes (a hard link): only when the file is removed from its place
   * afterwards, as in the inbox; a file its owner keeps could be changed under the archive.
   */
  readonly mayLink: boolean
  /** A copy made before (`stageScan`); null where there is none. */
  readonly staged?: Promise<string | null>
}

/**
 * Copies a scan beside the archive while it is measured; `archiveScan` only gives the copy its name.
 * @returns its path; null when the archive has the scan already, or when it could not be copied, which `archiveScan` then says
 */
export async function stageScan({
  file,
  sha256,
  state,
  archive,
  temporary,
}: Pick<ArchiveTask, 'sha256' | 'state' | 'archive' | 'temporary'> & { readonly file: string }): Promise<
  string | null
> {
  if ((await archivedScan(archive, sha256)) !== null) return null
  const beside = join(temporary, `${sha256}.staged`)
  try {
    await copied(file, beside, temporary)
    if (await isCopy(file, beside, state)) return beside
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === undefined && !(error instanceof ProblemError)) throw error
  }
  await rm(beside, { force: true })
  return null
}

/**
 * Whether what was copied is what was hashed: a file that has the state it was hashed in was not written meanwhile, and the copy has all of it.
 * (Hashing the copy too would only read back from memory what was just written there.)
 */
async function isCopy(file: string, copy: string, hashed: FileState): Promise<boolean> {
  return sameState(await fileState(file), hashed) && (await fileState(copy)).size === hashed.size
}

async function copied(from: string, to: string, folder: string): Promise<void> {
  await mkdir(folder, { recursive: true })
  await rm(to, { force: true })
  await copyFile(from, to, constants.COPYFILE_EXCL | constants.COPYFILE_FICLONE)
  await toDisk(to)
}

/**
 * Puts a scan into the archive under its content hash: `<first two>/<sha256>.tif|png`, the name it came with and its
 * sidecar in a small `.json` beside it. Never overwrites; doing it again changes nothing. What is kept is checked before it
 * gets its name, so that a name in the archive is always the whole scan.
 * @returns the path in the archive
 * @throws ProblemError FILE_NOT_WRITABLE, SCAN_STILL_GROWING when the file is no longer what was hashed
 */
export async function archiveScan(task: ArchiveTask): Promise<string> {
  const folder = join(task.archive, task.sha256.slice(0, 2))
  const place = join(folder, `${task.sha256}.${task.format === 'png' ? 'png' : 'tif'}`)
  const origin = join(folder, `${task.sha256}.json`)
  if (!(await has(place, task.state.size))) {
    await writing(place, () => mkdir(folder, { recursive: true }))
    const staged = (await task.staged) ?? null
    const beside = staged ?? join(task.temporary, `${task.sha256}.part`)
    try {
      if (staged === null) await madeBeside(task, place, beside)
      await writing(place, () => named(beside, place, task.state.size))
    } finally {
      await rm(beside, { force: true })
    }
    await writing(place, () => toDisk(dirname(place)))
  }
  if (!(await exists(origin)))
    await writeWhole(
      origin,
      `${JSON.stringify(
        {
          name: task.arrival.name,
          folder: task.arrival.folder,
          fileTime: task.arrival.fileTime,
          archivedAt: task.now.toISOString(),
          sidecar: task.arrival.sidecar?.text ?? null,
        },
        null,
        2,
      )}\n`,
    )
  return place
}

/** The scan beside the archive on the same disk, checked: its own bytes where it may share them, else a copy. */
async function madeBeside(task: ArchiveTask, place: string, beside: string): Promise<void> {
  const shared = await writing(place, async () => {
    await mkdir(task.temporary, { recursive: true })
    await rm(beside, { force: true })
    if (task.mayLink && (await linked(task.arrival.file, beside))) {
      await toDisk(beside)
      return true
    }
    await copied(task.arrival.file, beside, task.temporary)
    return false
  })
  const whole = shared
    ? sameState(await fileState(beside), task.state)
    : await isCopy(task.arrival.file, beside, task.state)
  if (!whole) throw new ProblemError('SCAN_STILL_GROWING', 'it had been read')
}

/** Path of an archived scan by its content; null when it is not there. */
export async function archivedScan(archive: string, sha256: string): Promise<string | null> {
  for (const ending of ['tif', 'png']) {
    const place = join(archive, sha256.slice(0, 2), `${sha256}.${ending}`)
    if (await exists(place)) return place
  }
  return null
}

async function has(place: string, size: number): Promise<boolean> {
  try {
    if ((await stat(place)).size === size) return true
  } catch {
    return false
  }
  throw new ProblemError(
    'FILE_NOT_WRITABLE',
    `${place} is there already and has another length; it was changed by hand or the disk is damaged`,
  )
}

async function exists(file: string): Promise<boolean> {
  return stat(file).then(
    () => true,
    () => false,
  )
}

/** Whether a second name for the same bytes could be given; shares and other disks refuse. */
async function linked(from: string, to: string): Promise<boolean> {
  return link(from, to).then(
    () => true,
    () => false,
  )
}

/** Gives the checked copy its name without ever replacing one that is there: by a link, or where links are refused by a rename. */
async function named(beside: string, place: string, size: number): Promise<void> {
  try {
    await link(beside, place)
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') return
    if (!(await has(place, size))) await rename(beside, place)
  }
}

/** Waits until a file or folder is on the disk. */
async function toDisk(path: string): Promise<void> {
  const isFolder = (await stat(path)).isDirectory()
  // A read-only scan cannot be opened for writing; most systems wait for the disk on a reading handle as well.
  const handle = isFolder
    ? await open(path, 'r').catch(() => null)
    : await open(path, 'r+').catch(() => open(path, 'r'))
  try {
    await handle?.sync()
  } catch (error) {
    // Some systems cannot be asked this of a folder or a reading handle; then it is left to them.
    if (!isFolder && (error as NodeJS.ErrnoException).code !== 'EPERM') throw error
  } finally {
    await handle?.close()
  }
}

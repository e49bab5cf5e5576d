import { link, mkdir, readFile, rm, stat, utimes, writeFile } from 'node:fs/promises'
import { dirname } from 'node:path'
import { ProblemError } from '../model/problem.js'

/** Who holds a lock. */
export interface LockHolder {
  readonly pid: number
  readonly host: string
  /** Different for every process there ever was. */
  readonly token: string
  readonly since: string
}

export interface LockWorld {
  /** Whether a process of this host is running. */
  readonly isAlive: (pid: number) => boolean
}

export interface WorkspaceLock {
  /** Says that the holder lives. False when somebody else has taken the lock: then stop. */
  beat(): Promise<boolean>
  release(): Promise<void>
}

/** A holder that has not beaten for so long is dead or cut off, s. It beats every few seconds. */
export const DEAD_AFTER_S = 120

/** Taking over is a matter of milliseconds; a spade left longer was dropped by a crash. */
const SPADE_LEFT_S = 10
const MOST_ATTEMPTS = 20

/**
 * Takes the lock of a workspace, so that two watchers never work off one inbox. The lock of a dead process of this host
 * is taken over at once, that of another host once it has not beaten for two minutes (by the clock of the disk it lies on).
 * @throws ProblemError WORKSPACE_BUSY naming who holds it
 */
export async function takeLock(file: string, self: LockHolder, world: LockWorld): Promise<WorkspaceLock> {
  await mkdir(dirname(file), { recursive: true })
  const own = `${file}.${self.token}`
  await writeFile(own, `${JSON.stringify(self)}\n`, { flush: true })
  try {
    for (let attempt = 0; !(await linked(own, file)); attempt++) {
      const holder = await holderOf(file)
      if (attempt === MOST_ATTEMPTS || !(await isDead(file, own, holder, self, world)))
        throw new ProblemError(
          'WORKSPACE_BUSY',
          holder === null ? file : `process ${holder.pid} on ${holder.host} since ${holder.since}`,
        )
      if (await buried(file, own, self, world)) break
      await new Promise(resolve => setTimeout(resolve, 50))
    }
  } finally {
    await rm(own, { force: true })
  }
  return {
    async beat() {
      const holder = await holderOf(file)
      if (holder !== null && holder.token !== self.token) return false
      try {
        // Written anew each time: its time is the disk's own, and hosts on one share may disagree about the time.
        await writeFile(own, `${JSON.stringify(self)}\n`)
        if (holder === null) return await linked(own, file)
        const disk = (await stat(own)).mtime
        await utimes(file, disk, disk)
        return true
      } catch {
        // The share is away; whoever could take the lock over is cut off as well, and is noticed when it is back.
        return true
      } finally {
        await rm(own, { force: true }).catch(() => {})
      }
    },
    async release() {
      if ((await holderOf(file))?.token === self.token) await rm(file, { force: true }).catch(() => {})
    },
  }
}

/** A link is the one way to make a file that already holds its text and fails when the name is taken. */
async function linked(own: string, file: string): Promise<boolean> {
  try {
    await link(own, file)
    return true
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException
    if (code === 'EEXIST') return false
    // Some shares have no links; making the file anew is nearly as good there.
    try {
      await writeFile(file, await readFile(own, 'utf8'), { flag: 'wx', flush: true })
      return true
    } catch (second) {
      if ((second as NodeJS.ErrnoException).code === 'EEXIST') return false
      throw second
    }
  }
}

async function holderOf(file: string): Promise<LockHolder | null> {
  try {
    const holder = JSON.parse(await readFile(file, 'utf8')) as Partial<LockHolder>
    return typeof holder.token === 'string' && typeof holder.pid === 'number' ? (holder as LockHolder) : null
  } catch {
    return null
  }
}

async function isDead(
  file: string,
  probe: string,
  holder: LockHolder | null,
  self: LockHolder,
  world: LockWorld,
): Promise<boolean> {
  if (holder !== null && holder.host === self.host) {
    if (holder.pid === self.pid) return true
    if (!world.isAlive(holder.pid)) return true
  }
  return olderThan(file, probe, DEAD_AFTER_S)
}

/**
 * Replaces a dead lock by one's own. Of many who find it dead only the one who holds the spade may, and looks once more
 * with it in hand: else the last to come would bury the lock of the first. False: somebody else is at it, or was.
 */
async function buried(file: string, own: string, self: LockHolder, world: LockWorld): Promise<boolean> {
  const spade = `${file}.takeover`
  if (!(await linked(own, spade))) {
    if (await olderThan(spade, own, SPADE_LEFT_S)) await rm(spade, { force: true })
    return false
  }
  try {
    if (!(await isDead(file, own, await holderOf(file), self, world))) return false
    await rm(file, { force: true })
    return await linked(own, file)
  } finally {
    await rm(spade, { force: true })
  }
}

/** Whether a file was last written longer ago than so many seconds, by the clock of the disk; a file that is not there was. */
async function olderThan(file: string, probe: string, seconds: number): Promise<boolean> {
  try {
    await writeFile(probe, await readFile(probe))
    return (await stat(probe)).mtimeMs - (await stat(file)).mtimeMs > seconds * 1000
  } catch {
    return true
  }
}

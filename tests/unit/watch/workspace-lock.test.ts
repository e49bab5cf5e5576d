import { readdirSync, readFileSync, renameSync, rmSync, utimesSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { type LockHolder, takeLock } from '../../../src/watch/workspace-lock.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'

let folder: ScanFolder
let file: string
beforeEach(() => {
  folder = scanFolder()
  file = join(folder.path, 'watch.lock')
})
afterEach(() => folder.remove())

const holder = (pid: number, host = 'desk'): LockHolder => ({
  pid,
  host,
  token: `t${pid}-${host}`,
  since: '2026-03-01T00:00:00.000Z',
})
const world = (...alive: number[]) => ({ isAlive: (pid: number) => alive.includes(pid) })
const busy = {
  problem: { code: 'WORKSPACE_BUSY', what: expect.stringContaining('process 1 on desk since 2026-03-01') },
}

describe('takeLock', () => {
  it('is held by one, and free again when released', async () => {
    const lock = await takeLock(file, holder(1), world(1, 2))
    await expect(takeLock(file, holder(2), world(1, 2))).rejects.toMatchObject(busy)
    expect(await lock.beat()).toBe(true)
    await lock.release()
    const next = await takeLock(file, holder(2), world(1, 2))
    expect(readdirSync(folder.path)).toEqual(['watch.lock'])
    await next.release()
    expect(readdirSync(folder.path)).toEqual([])
  })

  it('is taken over at once from a dead process of this host, or one that had our number', async () => {
    await takeLock(file, holder(1), world(1))
    const lock = await takeLock(file, holder(2), world(2))
    expect(JSON.parse(readFileSync(file, 'utf8'))).toMatchObject({ pid: 2 })
    await takeLock(file, { ...holder(2), token: 'other' }, world(2))
    expect(await lock.beat()).toBe(false)
    await lock.release()
    expect(JSON.parse(readFileSync(file, 'utf8'))).toMatchObject({ token: 'other' })
  })

  it('is kept through an absence of the share, and taken up again when its file was removed', async () => {
    const own = join(folder.path, 'share')
    const lock = await takeLock(join(own, 'watch.lock'), holder(1), world(1))
    renameSync(own, `${own}-away`)
    expect(await lock.beat()).toBe(true)
    renameSync(`${own}-away`, own)
    expect(await lock.beat()).toBe(true)
    rmSync(join(own, 'watch.lock'))
    expect(await lock.beat()).toBe(true)
    expect(readdirSync(own)).toEqual(['watch.lock'])
    await expect(takeLock(join(own, 'watch.lock'), holder(2), world(1, 2))).rejects.toMatchObject(busy)
  })

  it('is taken over from another host only when it has not beaten for two minutes', async () => {
    await takeLock(file, holder(1), world(1))
    const other = holder(9, 'laptop')
    await expect(takeLock(file, other, world())).rejects.toMatchObject(busy)
    const secondsAgo = (s: number) => new Date(Date.now() - s * 1000)
    utimesSync(file, secondsAgo(110), secondsAgo(110))
    await expect(takeLock(file, other, world())).rejects.toMatchObject(busy)
    utimesSync(file, secondsAgo(130), secondsAgo(130))
    const lock = await takeLock(file, other, world())
    expect(await lock.beat()).toBe(true)
  })

  it('is taken over when its text is no holder and it is old, not when it is fresh', async () => {
    folder.put('watch.lock', 'half a li')
    const now = Date.now() / 1000
    utimesSync(file, now, now)
    await expect(takeLock(file, holder(2), world())).rejects.toMatchObject({ problem: { code: 'WORKSPACE_BUSY' } })
    utimesSync(file, 1000, 1000)
    await takeLock(file, holder(2), world())
    expect(JSON.parse(readFileSync(file, 'utf8'))).toMatchObject({ pid: 2 })
  })

  it('goes to one of many who find it dead at the same moment', async () => {
    await takeLock(file, holder(1), world())
    const takers = [11, 12, 13, 14, 15, 16]
    const results = await Promise.allSettled(takers.map(pid => takeLock(file, holder(pid), world(...takers))))
    const winners = results.flatMap((r, i) => (r.status === 'fulfilled' ? [takers[i]] : []))
    expect(winners).toHaveLength(1)
    expect(JSON.parse(readFileSync(file, 'utf8')).pid).toBe(winners[0])
  })
})

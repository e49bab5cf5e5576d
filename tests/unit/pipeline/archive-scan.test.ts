import { createHash } from 'node:crypto'
import { readdirSync, readFileSync, statSync, utimesSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { type ArchiveTask, archiveScan, stageScan } from '../../../src/pipeline/archive-scan.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'
import { arrivalOf } from '../../support/workspace-context.js'

let folder: ScanFolder
beforeEach(() => {
  folder = scanFolder()
})
afterEach(() => folder.remove())

function task(content: string, change: Partial<ArchiveTask> = {}): ArchiveTask {
  const file = folder.put('film.tif', content)
  return {
    arrival: arrivalOf(file, { folder: 'bold', sidecar: { text: 'stock: stock-a\n', facts: { stock: 'stock-a' } } }),
    sha256: createHash('sha256').update(content).digest('hex'),
    state: { size: content.length, mtimeMs: statSync(file).mtimeMs, ino: statSync(file).ino },
    format: 'tiff',
    archive: join(folder.path, 'archive'),
    temporary: join(folder.path, 'tmp'),
    now: new Date('2026-03-01T00:00:00Z'),
    mayLink: false,
    ...change,
  }
}

describe('archiveScan', () => {
  it.each([false, true])('puts the scan under its hash, its name and sidecar beside it (link: %s)', async mayLink => {
    const asked = task('a scan', { mayLink })
    const place = await archiveScan(asked)
    expect(place).toBe(join(folder.path, 'archive', asked.sha256.slice(0, 2), `${asked.sha256}.tif`))
    expect(readFileSync(place, 'utf8')).toBe('a scan')
    expect(statSync(place).ino === statSync(asked.arrival.file).ino).toBe(mayLink)
    expect(JSON.parse(readFileSync(place.replace('.tif', '.json'), 'utf8'))).toEqual({
      name: 'film.tif',
      folder: 'bold',
      fileTime: '2025-03-04T11:00:00.000Z',
      archivedAt: '2026-03-01T00:00:00.000Z',
      sidecar: 'stock: stock-a\n',
    })
    expect(readdirSync(join(folder.path, 'tmp'))).toEqual([])
  })

  it('takes a copy made before, and makes one itself where the file had changed since it was hashed', async () => {
    const asked = task('a scan')
    const { arrival, sha256, state, archive, temporary } = asked
    const stage = { file: arrival.file, sha256, state, archive, temporary }
    expect(await stageScan({ ...stage, state: { ...state, mtimeMs: state.mtimeMs - 1 } })).toBe(null)
    expect(await stageScan({ ...stage, file: join(folder.path, 'none.tif') })).toBe(null)
    expect(readdirSync(temporary)).toEqual([])
    const staged = await stageScan(stage)
    const copy = statSync(staged!)
    const place = await archiveScan({ ...asked, staged: Promise.resolve(staged) })
    expect(statSync(place).ino).toBe(copy.ino)
    expect(readFileSync(place, 'utf8')).toBe('a scan')
    expect(readdirSync(temporary)).toEqual([])
    expect(await stageScan(stage), 'archived already').toBe(null)
  })

  it('changes nothing when it is done again', async () => {
    const asked = task('a scan')
    const place = await archiveScan(asked)
    const before = statSync(place)
    const named = readFileSync(place.replace('.tif', '.json'), 'utf8')
    expect(await archiveScan({ ...asked, now: new Date('2027-01-01T00:00:00Z') })).toBe(place)
    expect(statSync(place).ino).toBe(before.ino)
    expect(readFileSync(place.replace('.tif', '.json'), 'utf8')).toBe(named)
  })

  it('keeps the archive whole when the owner writes over a file that stays', async () => {
    const asked = task('a scan')
    const place = await archiveScan(asked)
    writeFileSync(asked.arrival.file, 'changed')
    expect(readFileSync(place, 'utf8')).toBe('a scan')
  })

  it.each([false, true])(
    'refuses a file that is no longer what was hashed, and gives it no name (link: %s)',
    async mayLink => {
      const asked = task('a scan', { mayLink })
      writeFileSync(asked.arrival.file, 'b scan')
      utimesSync(asked.arrival.file, 1000, 1000)
      await expect(archiveScan(asked)).rejects.toMatchObject({ problem: { code: 'SCAN_STILL_GROWING' } })
      expect(readdirSync(join(folder.path, 'archive', asked.sha256.slice(0, 2)))).toEqual([])
    },
  )

  it('never overwrites what is there', async () => {
    const asked = task('a scan')
    const place = await archiveScan(asked)
    writeFileSync(place, 'spoilt')
    writeFileSync(place, 'damaged by hand')
    await expect(archiveScan(asked)).rejects.toMatchObject({ problem: { code: 'FILE_NOT_WRITABLE' } })
    expect(readFileSync(place, 'utf8')).toBe('damaged by hand')
  })

  it('begins a copy that was cut off anew', async () => {
    const asked = task('a scan')
    await archiveScan(task('other'))
    folder.put(`tmp/${asked.sha256}.part`, 'a sc')
    expect(readFileSync(await archiveScan({ ...asked, ...task('a scan') }), 'utf8')).toBe('a scan')
  })
})

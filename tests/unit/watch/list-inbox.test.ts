import { mkdirSync, symlinkSync, utimesSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { listInbox } from '../../../src/watch/list-inbox.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'

let folder: ScanFolder
beforeEach(() => {
  folder = scanFolder()
})
afterEach(() => folder.remove())

describe('listInbox', () => {
  it('is null without an inbox', async () => {
    expect(await listInbox(join(folder.path, 'none'))).toBeNull()
    folder.put('file', '')
    expect(await listInbox(join(folder.path, 'file'))).toBeNull()
  })

  it('pairs scans with their sidecars, names folders, oldest first', async () => {
    for (const name of ['bold/deep', 'artwork', 'ladder', '.hidden'])
      mkdirSync(join(folder.path, name), { recursive: true })
    const young = folder.put('young.tif', 'x')
    folder.put('young.tif.yml', 'b')
    folder.put('young.tif.yaml', 'a')
    const old = folder.put('bold/deep/old.tif', 'xx')
    utimesSync(young, 2000, 2000)
    utimesSync(old, 1000, 1000)
    for (const name of [
      'artwork/a.tif',
      'ladder/b.tif',
      'ladder/plan.yaml',
      '.hidden/c.tif',
      'd.tif.part',
      'lost.tif.yaml',
    ])
      folder.put(name, '')
    const listing = (await listInbox(folder.path))!
    // A ladder's plan is no scan.
    expect(listing.scans.map(s => [s.relative, s.folder, s.size, s.sidecar?.name ?? null])).toEqual([
      ['bold/deep/old.tif', 'bold', 2, null],
      ['young.tif', null, 1, 'young.tif.yaml'],
      ['ladder/b.tif', 'ladder', 0, null],
    ])
    expect(listing.lone.map(s => s.relative)).toEqual(['lost.tif.yaml'])
    expect(listing.notes).toEqual([])
  })

  it('passes over links with a note, even one in a ring', async () => {
    symlinkSync(folder.path, join(folder.path, 'ring'))
    symlinkSync(folder.put('a.tif', 'x'), join(folder.path, 'b.tif'))
    const listing = (await listInbox(folder.path))!
    expect(listing.scans.map(s => s.relative)).toEqual(['a.tif'])
    expect([...listing.notes].sort()).toEqual([
      'inbox/b.tif is a link or no file at all, and was passed over; copy the scan itself.',
      'inbox/ring is a link or no file at all, and was passed over; copy the scan itself.',
    ])
  })
})

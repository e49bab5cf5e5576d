import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { problem } from '../../../src/model/problem.js'
import { moveFile, rejectFile } from '../../../src/watch/reject-file.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'

let folder: ScanFolder
beforeEach(() => {
  folder = scanFolder()
})
afterEach(() => folder.remove())

describe('rejectFile', () => {
  it('moves the file beside a text that says why and what to do, and never replaces another', async () => {
    const rejected = join(folder.path, 'rejected')
    const now = new Date('2026-03-01T00:00:00Z')
    for (const content of ['one', 'two', 'three']) {
      const place = await rejectFile(
        folder.put('film.tif', content),
        rejected,
        problem('SCAN_TRUNCATED', '5 bytes'),
        now,
      )
      expect(readFileSync(place, 'utf8')).toBe(content)
    }
    expect(readdirSync(rejected).sort()).toEqual(
      ['film-2.tif', 'film-2.tif.txt', 'film-3.tif', 'film-3.tif.txt', 'film.tif', 'film.tif.txt'].sort(),
    )
    expect(readdirSync(folder.path)).toEqual(['rejected'])
    expect(readFileSync(join(rejected, 'film.tif.txt'), 'utf8')).toBe(
      [
        'film.tif was not inspected.',
        '',
        'What happened: The file is cut short (5 bytes).',
        'What to do:    Let the scanner finish, then copy the whole file again.',
        '',
        '(SCAN_TRUNCATED, 2026-03-01T00:00:00.000Z)',
        '',
      ].join('\n'),
    )
  })

  it('refuses to move onto a file that is there', async () => {
    await expect(moveFile(folder.put('a', '1'), folder.put('b', '2'))).rejects.toMatchObject({ code: 'EEXIST' })
    expect(readFileSync(join(folder.path, 'b'), 'utf8')).toBe('2')
  })
})

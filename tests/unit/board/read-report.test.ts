import { mkdir, mkdtemp, rm, symlink, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, it } from 'vitest'
import { readReport } from '../../../src/board/read-report.js'

let folder: string
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'burngate-read-'))
  await mkdir(join(folder, 'reports', 'history'), { recursive: true })
  await writeFile(join(folder, 'reports', 'history', 'a.html'), 'inside')
  await writeFile(join(folder, 'secret.html'), 'outside')
})
afterEach(() => rm(folder, { recursive: true, force: true }))

it('reads what lies inside, and nothing that a link or a path leads out to', async () => {
  const reports = join(folder, 'reports')
  await symlink(join(folder, 'secret.html'), join(reports, 'link.html'))
  await symlink('history/a.html', join(reports, 'within.html'))
  const read = async (...steps: string[]) => {
    const found = await readReport(reports, steps)
    return found === null ? null : new TextDecoder().decode(found)
  }
  expect(await read('history', 'a.html')).toBe('inside')
  expect(await read('within.html')).toBe('inside')
  expect(await read('link.html')).toBeNull()
  expect(await read('..', 'secret.html')).toBeNull()
  expect(await read('history')).toBeNull()
  expect(await read('none.html')).toBeNull()
  expect(await readReport(join(folder, 'gone'), ['a.html'])).toBeNull()
})

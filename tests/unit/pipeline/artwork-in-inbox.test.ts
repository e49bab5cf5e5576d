import { mkdirSync } from 'node:fs'
import { basename, join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { artworkInInbox } from '../../../src/pipeline/artwork-in-inbox.js'
import { scanFolder } from '../../support/scan-folder.js'

const folder = scanFolder()
afterAll(() => folder.remove())

describe('artworkInInbox', () => {
  it('finds the artwork of a positive by its whole name, TIFF before PNG, the exact case first', async () => {
    mkdirSync(join(folder.path, 'sub.tif'), { recursive: true })
    for (const name of ['a.png', 'a.TIF', 'B.tif', 'b.png', 'ab.tif', 'a.txt', 'c.pdf']) folder.put(name, '')
    const found = async (positive: string) => {
      const path = await artworkInInbox(folder.path, positive)
      return path === null ? null : basename(path)
    }
    expect(await found('a')).toBe('a.TIF')
    expect(await found('b')).toBe('b.png')
    expect(await found('AB')).toBe('ab.tif')
    expect(await found('c')).toBeNull()
    expect(await artworkInInbox(join(folder.path, 'none'), 'a')).toBeNull()
  })
})

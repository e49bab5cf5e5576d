import { mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { inspectCommand } from '../../../src/commands/inspect.js'
import { separation, writeSeparation } from '../../../src/demo/separation.js'
import { writeScan } from '../../../src/demo/write-scan.js'
import { initWorkspace } from '../../../src/pipeline/init-workspace.js'
import { measureScan } from '../../../src/pipeline/measure-scan.js'
import { artworkFilm } from '../../support/artwork-film.js'
import { program } from '../../support/program.js'
import { scanFolder } from '../../support/scan-folder.js'

const folder = scanFolder()
const film = artworkFilm({
  seed: 77,
  artworkDpi: { across: 720, along: 720 },
  scanDpi: 600,
  cells: [3, 2],
  turned: 92,
  mirrored: true,
})
const it_ = program(folder.path, new Date('2026-11-25T12:00:00Z'), (request, tempDir) =>
  measureScan(request, { tempDir }),
)

beforeAll(async () => {
  await writeScan(join(folder.path, 'film.tif'), film.scan, '2026-11-25T10:00:00')
  await writeSeparation(join(folder.path, 'art.tif'), film.artwork)
  const blank = separation({ widthMm: 30, heightMm: 20, shapes: [] }, { across: 720, along: 720 })
  await writeSeparation(join(folder.path, 'blank.png'), blank)
})
afterAll(async () => {
  await it_.app.close()
  folder.remove()
})

async function inspected(options: object): Promise<{ status: number; record: Record<string, never> }> {
  const status = await inspectCommand(['film.tif'], { json: true, ...options }, it_.app)
  return { status, record: it_.json()[0] }
}

describe('inspect --artwork', () => {
  it('records how the artwork lies and its size', async () => {
    const { status, record } = await inspected({ artwork: 'art.tif' })
    expect(status).toBe(2)
    expect(record.artwork).toMatchObject({ file: 'art.tif', matches: true, mirrored: true })
    const { sizeErrorAcross, sizeErrorFeed } = record.readings as Record<string, { value: number }>
    expect(Math.abs(sizeErrorAcross!.value - 100 * film.across)).toBeLessThan(0.02)
    expect(Math.abs(sizeErrorFeed!.value - 100 * film.feed)).toBeLessThan(0.02)
    const { missingInk, extraInk } = record.readings as Record<string, { value: number; unit: string }>
    expect([missingInk!.value, extraInk!.value, missingInk!.unit]).toEqual([0, 0, 'mm2'])
    expect(JSON.stringify(record.findings)).not.toContain('shows mirrored on the scan')
  })

  it('does not ask a size without an artwork: no finding, and a note', async () => {
    const { record } = await inspected({})
    expect(record.artwork).toBeUndefined()
    expect((record.findings as { reading: string }[]).filter(f => f.reading.startsWith('sizeError'))).toEqual([])
    expect((record.notes as string[]).some(note => note.startsWith('Not asked'))).toBe(true)
  })

  it('makes a blank artwork a doubt, and refuses one that is no picture or not there', async () => {
    const { status, record } = await inspected({ artwork: 'blank.png' })
    expect(status).toBe(2)
    expect(JSON.stringify(record.findings)).toContain('The artwork is blank')
    folder.put('words.tif', 'no picture, only words')
    expect((await inspected({ artwork: 'words.tif' })).status).toBe(3)
    expect((await inspected({ artwork: 'nowhere.tif' })).status).toBe(3)
  })

  it('finds it in the inbox by the name of its positive; one that cannot be read is a doubt, not the scan’s end', async () => {
    const paths = await initWorkspace(join(folder.path, 'shop'), 'pipelines')
    mkdirSync(paths.artwork)
    folder.put('shop/inbox/artwork/film.tif', 'no picture, only words')
    const bad = await inspected({ workspace: 'shop' })
    expect(bad.status).toBe(2)
    expect(JSON.stringify(bad.record.findings)).toContain('ARTWORK_NOT_A_PICTURE')
    await writeSeparation(join(paths.artwork, 'film.tif'), film.artwork)
    const settings = join(folder.path, 'shop', 'burngate.yaml')
    writeFileSync(settings, readFileSync(settings, 'utf8').replace(/^inkSideUp:.*$/m, 'inkSideUp: false'))
    const good = await inspected({ workspace: 'shop' })
    expect(good.record.artwork).toMatchObject({ file: 'film.tif', matches: true })
    expect(JSON.stringify(good.record.findings)).toContain('shows mirrored on the scan; with its ink side down')
  })
})

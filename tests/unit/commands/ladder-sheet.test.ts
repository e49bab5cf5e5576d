import { readFileSync } from 'node:fs'
import { basename, join } from 'node:path'
import sharp from 'sharp'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ladderSheetCommand } from '../../../src/commands/ladder-sheet.js'
import { program } from '../../support/program.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'

const PLAN = `name: spring
jobType: fine-line
stocks: [stock-a]
modes: [{ name: fast, dpi: [360, 360], directions: 2, minutes: 1 }]
levels: [4, 6]
repeats: 2
paper: { width: 160, height: 90 }
`
let folder: ScanFolder
let it_: ReturnType<typeof program>
beforeEach(() => {
  folder = scanFolder()
  it_ = program(folder.path)
})
afterEach(async () => {
  await it_.app.close()
  folder.remove()
})
const sheets = async (plan: string, more: { each?: boolean } = {}) => {
  folder.put('plan.yaml', plan)
  const code = await ladderSheetCommand('plan.yaml', { out: 'sheets', json: true, ...more }, it_.app)
  return { code, ...it_.json()[0] }
}

describe('ladder sheet', () => {
  it('writes a sheet a print at the printer resolution, with its repeats on it, and a page to tick off', async () => {
    const { code, schema, files, checklist } = await sheets(PLAN)
    expect({ code, schema }).toEqual({ code: 0, schema: 'burngate/ladder-sheets@1' })
    expect(files.map((f: string) => basename(f))).toEqual(['1__stock-a__fast__4.png', '2__stock-a__fast__6.png'])
    const { width, height, density } = await sharp(files[0]).metadata()
    expect(density).toBe(360)
    expect(Math.abs(width! - (160 / 25.4) * 360)).toBeLessThanOrEqual(1)
    // Two strips of 27 mm, 3 mm between them, 8 mm round and 8 mm of words.
    expect(Math.abs(height! - ((8 + 8 + 27 + 3 + 27 + 8) / 25.4) * 360)).toBeLessThanOrEqual(8)
    const html = readFileSync(checklist, 'utf8')
    expect(html).toContain('2__stock-a__fast__6.png')
    expect(html).toContain('load the film, set mode and level')
  })

  it('puts all levels on one sheet where the driver can ramp', async () => {
    const { files } = await sheets(`${PLAN.replace('repeats: 2\n', '')}ramp: true\n`)
    expect(files.map((f: string) => basename(f))).toEqual(['1__stock-a__fast.png'])
  })

  it('writes each combination alone by the names of the contract', async () => {
    const { files, checklist } = await sheets(PLAN, { each: true })
    expect(checklist).toBeNull()
    expect(files.map((f: string) => basename(f))).toEqual(['stock-a__fast__4.png', 'stock-a__fast__6.png'])
    expect(readFileSync(join(folder.path, 'sheets', 'stock-a__fast__4.png')).equals(readFileSync(files[1]))).toBe(false)
  })

  it('refuses a plan of patches, a sheet too small and a resolution no strip is drawn for', async () => {
    const code = (plan: string) =>
      sheets(plan).then(
        () => null,
        error => error.problem?.code,
      )
    const patches = PLAN.replace('levels: [4, 6]', 'patches: { count: 4, pitch: 9, first: 1, last: 4 }')
    expect(await code(patches)).toBe('LADDER_PLAN_INVALID')
    expect(await code(PLAN.replace('width: 160', 'width: 100'))).toBe('LADDER_PAPER_TOO_SMALL')
    expect(await code(PLAN.replace('[360, 360]', '[120, 360]'))).toBe('STRIP_DPI_INVALID')
  })
})

import { existsSync } from 'node:fs'
import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import sharp from 'sharp'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { type StripOptions, stripCommand } from '../../../src/commands/strip.js'
import { openArtwork } from '../../../src/decode/open-artwork.js'
import { encodeStripCode } from '../../../src/strip/strip-code.js'
import { program } from '../../support/program.js'
import { readCodes } from '../../support/read-codes.js'

let folder: string
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'burngate-strip-'))
})
afterEach(() => rm(folder, { recursive: true, force: true }))

const ASKED: StripOptions = {
  positive: 'reef-label',
  jobType: 'halftone',
  dpi: '720',
  form: 'short',
  laid: 'head',
  tints: 'screened',
}

describe('burngate strip', () => {
  it('writes the strip where it is told to, at the size it says', async () => {
    const { app, said, json } = program(folder)
    expect(await stripCommand({ ...ASKED, dpi: '1440x720', laid: 'feed', out: 'strip.tif' }, app)).toBe(0)
    expect(said()).toContain('15.0 mm across the head, 70.0 mm along the feed')
    const { dpi, width, height } = await openArtwork(join(folder, 'strip.tif'), { tempDir: folder })
    expect([dpi.across, dpi.along].map(Math.round)).toEqual([1440, 720])
    expect((width / dpi.across) * 25.4).toBeCloseTo(15, 1)
    expect((height / dpi.along) * 25.4).toBeCloseTo(70, 1)
    expect(json()).toEqual([])
  })

  it('is read as what was asked for, by default from a PNG named after the positive', async () => {
    const { app, json } = program(folder)
    expect(await stripCommand({ ...ASKED, setting: ' ink 8 ', stock: 'stock-a', json: true }, app)).toBe(0)
    const [made] = json()
    expect(made).toMatchObject({
      schema: 'burngate/strip@1',
      file: join(folder, 'reef-label__strip.png'),
      identity: { positive: 'reef-label', setting: 'ink 8', form: 'short', dpi: { across: 720, along: 720 } },
      screenFrom: 'jobType',
    })
    expect(made.screen.ruling).toBeCloseTo(55, 0)
    const { data, info } = await sharp(made.file)
      .resize({ width: 1000 })
      .toColourspace('b-w')
      .raw()
      .toBuffer({ resolveWithObject: true })
    const codes = await readCodes({ width: info.width, height: info.height, values: data })
    expect(codes.map(code => code.text)).toEqual(Array(2).fill(encodeStripCode(made.identity)))
  })

  it('takes the usual screen where the job type names none, and says so', async () => {
    const { app, said } = program(folder)
    expect(await stripCommand({ ...ASKED, jobType: 'bold' }, app)).toBe(0)
    expect(said()).toContain('the job type names no screen')
  })

  it("takes the job types of the workspace it is in, the shop's own screen too", async () => {
    const { app, json } = program(folder)
    const shop = join(folder, 'shop')
    await app.initWorkspace(shop)
    const file = join(shop, 'job-types', 'halftone.yaml')
    await writeFile(file, (await readFile(file, 'utf8')).replace('ruling: 55', 'ruling: 40'))
    expect(await stripCommand({ ...ASKED, workspace: shop, json: true, out: 'a.svg' }, app)).toBe(0)
    expect(json()[0].screen.ruling).toBeCloseTo(40, 0)
  })

  it.each([
    [{ dpi: '72' }, 'the printer resolution "72"'],
    [{ dpi: '720x' }, 'the printer resolution "720x"'],
    [{ positive: '../../reef' }, 'holds a path'],
    [{ positive: '<b>' }, 'holds markup'],
    [{ jobType: 'halftoon' }, 'did you mean halftone?'],
    [{ setting: 'a/b' }, 'the setting "a/b" (it holds a path)'],
    [{ setting: 's'.repeat(110) }, 'cannot hold all of it'],
    [{ out: 'strip.jpg' }, 'cannot write a strip as .jpg'],
    [{ workspace: 'nowhere' }, 'there is no burngate workspace'],
  ] as const)('refuses %j with what to do, and writes nothing', async (asked, says) => {
    const { app, said } = program(folder)
    expect(await stripCommand({ ...ASKED, ...asked }, app)).toBe(64)
    const words = said()
    expect(words).toContain(says)
    expect(words).toContain('To do: ')
    expect(await readdir(folder)).toEqual([])
    expect(existsSync(join(folder, '..', 'reef__strip.png'))).toBe(false)
  })
})

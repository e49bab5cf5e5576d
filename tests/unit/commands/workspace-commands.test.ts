import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { writeCalibration } from '../../../src/calibrate/calibration-file.js'
import { boardCommand } from '../../../src/commands/board.js'
import { calibrateCommand } from '../../../src/commands/calibrate.js'
import { checkCommand } from '../../../src/commands/check.js'
import { demoCommand } from '../../../src/commands/demo.js'
import { exportCommand } from '../../../src/commands/export.js'
import { historyCommand } from '../../../src/commands/history.js'
import { initCommand } from '../../../src/commands/init.js'
import { watchCommand } from '../../../src/commands/watch.js'
import { parseSiteSettings } from '../../../src/settings/site-settings.js'
import { agedScanner } from '../../support/aged-scanner.js'
import { program } from '../../support/program.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'
import { standInScan } from '../../support/stand-in-measure.js'

let folder: ScanFolder
let running: ReturnType<typeof program>
const here = { workspace: 'shop' }
beforeEach(async () => {
  folder = scanFolder()
  running = program(folder.path)
  await initCommand('shop', running.app)
  folder.put('shop/burngate.yaml', 'settleSeconds: 0.1\nsidecarWaitSeconds: 0\ndefaultJobType: solid\n')
  folder.put('shop/job-types/solid.yaml', 'name: solid\nlimits: { solidDensity: { min: 3.0 } }\n')
  running.said()
})
afterEach(async () => {
  await running.app.close()
  folder.remove()
})

describe('init', () => {
  it('makes every folder, the job types with their schema, and settings that say what the defaults are', async () => {
    expect(await initCommand('other', running.app)).toBe(0)
    const root = join(folder.path, 'other')
    expect(readdirSync(root).sort()).toEqual([
      '.burngate',
      'archive',
      'burngate.yaml',
      'inbox',
      'job-types',
      'rejected',
      'reports',
      'scanners',
    ])
    expect(readdirSync(join(root, 'job-types'))).toEqual(
      expect.arrayContaining(['bold.yaml', 'fine-line.yaml', 'job-type.schema.json']),
    )
    expect(parseSiteSettings(readFileSync(join(root, 'burngate.yaml'), 'utf8'), 'burngate.yaml')).toEqual(
      parseSiteSettings('', 'burngate.yaml'),
    )
    expect(running.said()).toContain('burngate watch --workspace other')
  })

  it('refuses a folder that holds anything', async () => {
    await expect(initCommand('shop', running.app)).rejects.toMatchObject({
      problem: { code: 'WORKSPACE_NOT_EMPTY', what: expect.stringContaining('is a workspace already') },
    })
    folder.put('x.tif', '')
    await expect(initCommand('.', running.app)).rejects.toMatchObject({ problem: { code: 'WORKSPACE_NOT_EMPTY' } })
  })
})

describe('watch --once', () => {
  it('works the inbox off, says what became of each, and gives the worst exit status', async () => {
    folder.put('shop/inbox/a.tif', standInScan(3.4, 1))
    folder.put('shop/inbox/b.txt', 'no scan')
    expect(await watchCommand({ ...here, once: true, json: true }, running.app)).toBe(3)
    expect(
      running
        .json()
        .map(line => line.schema)
        .sort(),
    ).toEqual(['burngate/inspection@1', 'burngate/problem@1'])
    const said = running.said()
    expect(said).toContain('RECHECK a  [a.tif]')
    expect(said).toContain('REJECTED b.txt')
    expect(readdirSync(join(folder.path, 'shop', 'inbox'))).toEqual([])
    expect(await watchCommand({ ...here, once: true }, running.app)).toBe(0)
    expect(running.said()).toContain('The inbox is empty.')
    expect(existsSync(join(folder.path, 'shop', '.burngate', 'watch.lock'))).toBe(false)
  })

  it('stops when it is told to', async () => {
    const done = watchCommand(here, running.app)
    await new Promise(resolve => setTimeout(resolve, 300))
    running.stop.abort()
    expect(await done).toBe(0)
    expect(running.said()).toMatch(/^Watching .*inbox; stop with Ctrl-C\.[\s\S]*Stopped\.\nBoard: /)
  })
})

describe('history, board and export', () => {
  beforeEach(async () => {
    folder.put('shop/inbox/HARBOR-1__x.tif', standInScan(3.4, 1, { dateTime: '2025:02:01 08:00:00' }))
    folder.put('shop/inbox/HARBOR-1__y.tif', standInScan(2.4, 2, { dateTime: '2025:03:01 08:00:00' }))
    folder.put('shop/inbox/odd.tif', standInScan(3.4, 3))
    folder.put('shop/inbox/odd.tif.yaml', 'note: "=HYPERLINK(\\"x\\"), \\"quoted\\""\npositive: -1 front\n')
    await watchCommand({ ...here, once: true }, running.app)
    running.said()
  })

  it('lists a positive oldest first, or one record a line', async () => {
    expect(await historyCommand('HARBOR-1', here, running.app)).toBe(0)
    const lines = running.said().split('\n')
    expect(lines[0]).toMatch(/^scanned +verdict/)
    expect(lines.slice(1, 3).map(line => line.slice(0, 16))).toEqual(['2025-02-01 08:00', '2025-03-01 08:00'])
    expect(await historyCommand('HARBOR-1', { ...here, json: true }, running.app)).toBe(0)
    expect(running.json().map(record => record.scannedAt)).toEqual(['2025-02-01T08:00:00', '2025-03-01T08:00:00'])
    expect(await historyCommand('HARBR-1', here, running.app)).toBe(0)
    expect(running.said()).toContain('did you mean "HARBOR-1"?')
  })

  it('writes the board anew from the history', async () => {
    const board = join(folder.path, 'shop', 'reports', 'index.html')
    rmSync(board)
    expect(await boardCommand(here, running.app)).toBe(0)
    expect(running.said()).toContain('2 positives: 0 pass, 2 recheck, 0 fail.')
    expect(readFileSync(board, 'utf8')).toContain('HARBOR-1')
  })

  it('exports every inspection, with no cell a spreadsheet would run', async () => {
    expect(await exportCommand({ ...here, csv: 'out/all.csv', json: 'out/all.json' }, running.app)).toBe(0)
    const csv = readFileSync(join(folder.path, 'out', 'all.csv'), 'utf8')
    const lines = csv.split('\r\n')
    expect(lines).toHaveLength(5)
    expect(lines[0]).toMatch(/^id,positive,jobType,/)
    expect(csv).toContain(`,'-1 front,`)
    expect(csv).toContain(`,"'=HYPERLINK(""x""), ""quoted""",`)
    const all = JSON.parse(readFileSync(join(folder.path, 'out', 'all.json'), 'utf8'))
    expect(all).toHaveLength(3)
    expect(readdirSync(join(folder.path, 'out')).sort()).toEqual(['all.csv', 'all.json'])
    expect(await exportCommand(here, running.app)).toBe(64)
  })
})

describe('calibrate', () => {
  it('raises the problem of a scan that is no tablet, and keeps nothing', async () => {
    folder.put('film.tif', standInScan(3.4, 1))
    await expect(
      calibrateCommand('film.tif', { ...here, scanner: 'flatbed-a', tablet: 'nominal-21' }, running.app),
    ).rejects.toMatchObject({ problem: { code: expect.any(String) } })
    await expect(
      calibrateCommand('film.tif', { ...here, scanner: 'flatbed-a', tablet: 'none.csv' }, running.app),
    ).rejects.toMatchObject({ problem: { code: 'FILE_MISSING' } })
    expect(readdirSync(join(folder.path, 'shop', 'scanners'))).toEqual([])
  })
})

describe('check', () => {
  it('is content but for the missing calibration in a new workspace', async () => {
    expect(await checkCommand({ ...here, json: true }, running.app)).toBe(2)
    const findings = running.json()
    expect(findings.filter(f => f.state !== 'ok' && f.about !== 'disk').map(f => f.about)).toEqual(['calibration'])
    expect(findings.map(f => f.about)).toEqual([
      'settings',
      'jobTypes',
      'calibration',
      'database',
      'database',
      'inbox',
      'rejected',
      'disk',
    ])
  })

  it('finds broken settings, job types and databases, stuck and rejected files', async () => {
    folder.put('shop/burngate.yaml', 'settleSecond: 3\n')
    folder.put('shop/job-types/bad.yaml', 'name: other\nlimits: {}\n')
    folder.put('shop/burngate.db', 'not a database, but long enough to be looked at by the library. '.repeat(20))
    folder.put('shop/inbox/old.tif', 'x')
    folder.put('shop/rejected/x.tif.txt', 'why')
    const later = program(folder.path, new Date(Date.now() + 3_600_000))
    expect(await checkCommand({ ...here, json: true }, later.app)).toBe(1)
    expect(
      later
        .json()
        .filter(f => f.about !== 'disk')
        .map(f => [f.about, f.state]),
    ).toEqual([
      ['settings', 'bad'],
      ['jobTypes', 'bad'],
      ['calibration', 'warn'],
      ['database', 'bad'],
      ['inbox', 'warn'],
      ['rejected', 'warn'],
    ])
    await later.app.close()
  })
})

describe('check of a scanner over its calibrations', () => {
  const scanners = () => join(folder.path, 'shop', 'scanners')
  const page = () => readFileSync(join(folder.path, 'shop', 'reports', 'check.html'), 'utf8')

  it('warns of what has moved and says by which rule; the page shows the series', async () => {
    for (const calibration of agedScanner(8, 6)) await writeCalibration(scanners(), calibration)
    expect(readdirSync(join(scanners(), 'earlier'))).toHaveLength(7)
    const later = program(folder.path, new Date('2025-03-04T12:00:00Z'))
    expect(await checkCommand({ ...here, json: true }, later.app)).toBe(2)
    const moved = later.json().filter(f => f.about === 'calibration' && f.state === 'warn')
    expect(moved.map(f => /600 dpi: (.*?) (rose|fell|is)/.exec(f.says)?.[1])).toEqual([
      'Noise of open light',
      'Code of open light',
      'Deepest density',
      'Rise width across',
      'Rise width along',
    ])
    expect(moved[0].says).toMatch(/more than 5 %\..*more than 3 times its own scatter/)
    expect(moved[0].next).toContain('scanners/earlier/')
    expect(page()).toContain('Has moved.')
    expect(await checkCommand(here, later.app)).toBe(2)
    expect(later.said()).toMatch(/Page: .*check\.html$/)
    await later.app.close()
  })

  it('is content with a scanner that only scatters, and inspects with the newest calibration', async () => {
    for (const calibration of agedScanner(4, 99)) await writeCalibration(scanners(), calibration)
    const then = program(folder.path, new Date('2024-11-04T12:00:00Z'))
    expect(await checkCommand({ ...here, json: true }, then.app)).toBe(0)
    const found = then.json().filter(f => f.about === 'calibration')
    expect(found.map(f => f.state)).toEqual(['ok'])
    expect(found[0].says).toContain('7 days old')
    await then.app.close()
  })

  it('leaves out an earlier file that cannot be read, and says so', async () => {
    for (const calibration of agedScanner(2, 99)) await writeCalibration(scanners(), calibration)
    folder.put('shop/scanners/earlier/odd.json', '{')
    const then = program(folder.path, new Date('2024-09-04T12:00:00Z'))
    expect(await checkCommand({ ...here, json: true }, then.app)).toBe(2)
    expect(then.json().find(f => f.state === 'warn').says).toMatch(/1 earlier calibration cannot be read.*odd\.json/)
    await then.app.close()
  })

  it('tells the rest when its page cannot be written', async () => {
    rmSync(join(folder.path, 'shop', 'reports'), { recursive: true })
    folder.put('shop/reports', 'a file where the folder should be')
    expect(await checkCommand({ ...here, json: true }, running.app)).toBe(1)
    const findings = running.json()
    expect(findings).toHaveLength(9)
    expect(findings[8]).toMatchObject({ about: 'disk', state: 'bad', says: expect.stringContaining('check.html') })
  })
})

describe('demo', () => {
  it('refuses a folder of somebody else, and leaves it as it is', async () => {
    mkdirSync(join(folder.path, 'mine'))
    folder.put('mine/work.tif', 'precious')
    await expect(demoCommand('mine', running.app)).rejects.toMatchObject({ problem: { code: 'WORKSPACE_NOT_EMPTY' } })
    await expect(demoCommand('shop', running.app)).rejects.toMatchObject({ problem: { code: 'WORKSPACE_NOT_EMPTY' } })
    expect(readFileSync(join(folder.path, 'mine', 'work.tif'), 'utf8')).toBe('precious')
  })
})

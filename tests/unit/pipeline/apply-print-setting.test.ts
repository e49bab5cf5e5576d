import { mkdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { applyPrintSetting } from '../../../src/pipeline/apply-print-setting.js'
import { loadPrintSettings } from '../../../src/pipeline/load-print-settings.js'
import { namedSettings } from '../../../src/pipeline/named-settings.js'
import { saidLater, withdrawSetting } from '../../../src/pipeline/withdraw-setting.js'
import { ladderPlan } from '../../support/ladder-plan.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'

let folder: ScanFolder
beforeEach(() => {
  folder = scanFolder()
  mkdirSync(join(folder.path, 'settings'))
})
afterEach(() => folder.remove())

describe('a named print setting', () => {
  it('is read back as the ladder wrote it, and says mode and stock where nobody else does', async () => {
    const plan = ladderPlan()
    const at = { stock: 'stock-a', mode: 'fine', level: 8 }
    const choice = { ...at, minutes: 4, ink: 0.64, margin: 2, tightest: null }
    const [written] = namedSettings({
      plan,
      jobType: { name: plan.jobType } as never,
      result: {
        perStock: { 'stock-a': { recommended: choice } },
        steps: [{ ...at, samples: [], readings: {} }],
      } as never,
      scannedAt: '2026-03-02T09:00:00',
      scanner: 'flatbed-a',
      record: 'ladder.json',
      software: 'burngate 0.1.0',
    })
    folder.put(`settings/${written!.name}.yaml`, written!.text)
    const shelf = await loadPrintSettings(`${folder.path}/settings`)
    expect(applyPrintSetting({ setting: written!.name }, shelf)).toEqual({
      told: { setting: written!.name, mode: 'fine', stock: 'stock-a' },
      notes: [],
    })
    const other = applyPrintSetting({ setting: written!.name, mode: 'fast' }, shelf)
    expect(other.told).toMatchObject({ mode: 'fast', stock: 'stock-a' })
    expect(other.notes).toEqual([expect.stringContaining('It says mode fast, and its setting')])
    expect(applyPrintSetting({ setting: 'spring-film-tset-stock-a' }, shelf).notes[0]).toContain(
      `did you mean ${written!.name}?`,
    )
  })

  it('is withdrawn where its own strips do not pass any more, and films printed so are told', async () => {
    const file = join(folder.path, 'settings/spring-stock-a.yaml')
    const was = 'stock: stock-a\nmode:\n  name: fine\nlevel: 40 %\n'
    folder.put('settings/spring-stock-a.yaml', was)
    const step = (level: number, verdict: 'pass' | 'fail' | 'recheck') => ({
      stock: 'stock-a',
      mode: 'fine',
      level,
      verdict,
      findings: [{ reading: 'edgeGrowth', verdict, limit: {}, why: 'Edges crept.', next: '' }],
    })
    const read = { scannedAt: '2026-04-06T10:00:00', record: 'ladder.json' }
    const withdraw = (steps: readonly ReturnType<typeof step>[]) =>
      withdrawSetting(file, 'spring-stock-a', steps as never, read)
    expect(await withdraw([step(40, 'pass'), step(50, 'fail')])).toBeNull()
    expect(await withdraw([step(40, 'recheck')])).toBeNull()
    expect(readFileSync(file, 'utf8')).toBe(was)
    expect(await withdraw([step(40, 'fail')])).toContain('does not pass any more')
    const shelf = await loadPrintSettings(`${folder.path}/settings`)
    expect(applyPrintSetting({ setting: 'spring-stock-a' }, shelf)).toEqual({
      told: { setting: 'spring-stock-a', mode: 'fine', stock: 'stock-a' },
      notes: [
        'Its setting spring-stock-a was withdrawn on 2026-04-06, so print its next films with another. Edges crept.',
      ],
    })
    expect([await saidLater(file, '2026-03-02T09:00:00'), await saidLater(file, '2026-04-06T10:00:00')]).toEqual([
      true,
      false,
    ])
    expect(await withdrawSetting(`${file}.none`, 'none', [], read)).toBeNull()
  })

  it('that is no setting is said; a shop without any calls them as it likes', async () => {
    folder.put('settings/odd.yaml', '[')
    const shelf = await loadPrintSettings(`${folder.path}/settings`)
    expect(applyPrintSetting({ setting: 'odd' }, shelf).notes[0]).toContain('is not a setting that can be read')
    expect(applyPrintSetting({ setting: 'ink 8' }, await loadPrintSettings(`${folder.path}/none`)).notes).toEqual([])
    expect(applyPrintSetting({}, shelf)).toEqual({ told: {}, notes: [] })
  })
})

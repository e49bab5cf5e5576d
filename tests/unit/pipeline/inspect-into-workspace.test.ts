import { existsSync, readdirSync, readFileSync, rmSync, utimesSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { Inspection } from '../../../src/model/inspection.js'
import { ProblemError } from '../../../src/model/problem.js'
import { intoWorkspace, type WorkspaceContext } from '../../../src/pipeline/inspect-into-workspace.js'
import type { InspectionStep } from '../../../src/pipeline/inspect-scan.js'
import { type ScanFolder, scanFolder } from '../../support/scan-folder.js'
import { standInMeasure, standInScan } from '../../support/stand-in-measure.js'
import { arrivalOf, STAND_IN_JOB_TYPE, workspaceContext } from '../../support/workspace-context.js'

let folder: ScanFolder
const opened: WorkspaceContext[] = []
beforeEach(() => {
  folder = scanFolder()
})
afterEach(async () => {
  for (const context of opened.splice(0)) await context.store.close()
  folder.remove()
})
async function workspace(change: Parameters<typeof workspaceContext>[1] = {}): Promise<WorkspaceContext> {
  const context = await workspaceContext(folder.path, change)
  opened.push(context)
  return context
}
async function records(context: WorkspaceContext): Promise<Inspection[]> {
  const all: Inspection[] = []
  for await (const inspection of context.store.all()) all.push(inspection)
  return all
}
const filesIn = (place: string): string[] =>
  existsSync(place) ? readdirSync(place, { recursive: true }).map(String) : []
const watching = { skipKnown: true, mayLink: true }

describe('intoWorkspace', () => {
  it('makes record, report, JSON, archive and board of one scan', async () => {
    const context = await workspace()
    const file = folder.put('inbox/HARBOR-17__1.tif', standInScan(3.4, 1, { dateTime: '2025:03:01 10:00:00' }))
    const outcome = await intoWorkspace(context)(arrivalOf(file), watching)
    expect(outcome.known).toBe(false)
    expect(outcome.inspection).toMatchObject({
      schema: 'burngate/inspection@1',
      positive: 'HARBOR-17',
      positiveFrom: 'fileName',
      jobType: 'fine-line',
      scannedAt: '2025-03-01T10:00:00',
      verdict: 'pass',
      scan: { file: 'HARBOR-17__1.tif', width: 16, height: 16, dpi: [1200, 1200] },
      scanner: { name: 'flatbed-a', tablet: 'nominal-21', riseWidth: 36.1 },
      tookMs: 0,
    })
    expect(await records(context)).toEqual([outcome.inspection])
    expect(outcome.inspection.id).toMatch(/^20250301T100000-[0-9a-f]{16}$/)
    expect(outcome.report).toBe(join(context.paths.reports, `HARBOR-17__${outcome.inspection.id}.html`))
    const html = readFileSync(outcome.report!, 'utf8')
    expect(html).toContain('PASS')
    expect(JSON.parse(readFileSync(outcome.report!.replace('.html', '.json'), 'utf8'))).toEqual(outcome.inspection)
    expect(readFileSync(context.paths.board, 'utf8')).toContain(`href="HARBOR-17__${outcome.inspection.id}.html"`)
    const { sha256 } = outcome.inspection.scan
    expect(filesIn(context.paths.archive).sort()).toEqual([
      sha256.slice(0, 2),
      `${sha256.slice(0, 2)}/${sha256}.json`,
      `${sha256.slice(0, 2)}/${sha256}.tif`,
    ])
  })

  it('adds its doubts before judging: a calibration too old forbids a pass', async () => {
    const context = await workspace({ now: () => new Date('2025-08-04T12:00:00Z') })
    const file = folder.put('a.tif', standInScan(3.4, 1))
    const { inspection } = await intoWorkspace(context)(arrivalOf(file), watching)
    expect(inspection.verdict).toBe('recheck')
    expect(inspection.findings[0]).toMatchObject({ reading: 'scan', verdict: 'recheck' })
    expect(inspection.findings[0]!.why).toContain('161 days old')
  })

  it('inspects the same content once, and again when the question has changed', async () => {
    const context = await workspace()
    const inspect = intoWorkspace(context)
    const file = folder.put('a.tif', standInScan(3.4, 1))
    const first = await inspect(arrivalOf(file), watching)
    const copy = folder.put('a__copy.tif', standInScan(3.4, 1))
    const second = await inspect(arrivalOf(copy, { fileTime: '2025-03-04T11:30:00.000Z' }), watching)
    expect(second).toEqual({ inspection: first.inspection, known: true, report: first.report })
    const other = await inspect(arrivalOf(file, { told: { jobType: 'bold' } }), watching)
    expect(other.known).toBe(false)
    const stricter = { ...STAND_IN_JOB_TYPE, limits: { solidDensity: { min: 3.5 } } }
    const changed = await workspace({
      load: async () => ({
        ...(await context.load()),
        jobTypes: { types: new Map([['fine-line', stricter]]), unusable: new Map() },
      }),
    })
    const again = await intoWorkspace(changed)(arrivalOf(file, { told: { jobType: 'fine-line' } }), watching)
    expect([again.known, again.inspection.verdict]).toEqual([false, 'fail'])
    expect((await records(context)).map(i => i.verdict)).toEqual(['pass', 'pass', 'fail'])
  })

  it('asked at the same time for two files of one content, makes one record', async () => {
    const context = await workspace()
    const inspect = intoWorkspace(context)
    const names = ['a.tif', 'a__2.tif', 'a__3.tif']
    const outcomes = await Promise.all(
      names.map((name, i) =>
        inspect(
          arrivalOf(folder.put(name, standInScan(3.4, 1)), { fileTime: `2025-03-04T11:0${i}:00.000Z` }),
          watching,
        ),
      ),
    )
    expect(outcomes.map(o => o.known).sort()).toEqual([false, true, true])
    expect(await records(context)).toHaveLength(1)
  })

  it('measures again when asked to, still one record', async () => {
    let measured = 0
    const context = await workspace({
      measure: request => {
        measured++
        return standInMeasure(request, folder.path)
      },
    })
    const inspect = intoWorkspace(context)
    const file = folder.put('a.tif', standInScan(3.4, 1))
    const how = { skipKnown: false, mayLink: false }
    expect((await inspect(arrivalOf(file), how)).known).toBe(false)
    expect((await inspect(arrivalOf(file), how)).known).toBe(true)
    expect(measured).toBe(2)
    expect(await records(context)).toHaveLength(1)
    expect(existsSync(file)).toBe(true)
  })

  it('refuses a scan that changed while it was measured, and records nothing', async () => {
    const file = folder.put('a.tif', standInScan(3.4, 1))
    const context = await workspace({
      measure: async request => {
        utimesSync(file, 1, 1)
        return standInMeasure(request, folder.path)
      },
    })
    await expect(intoWorkspace(context)(arrivalOf(file), watching)).rejects.toMatchObject({
      problem: { code: 'SCAN_STILL_GROWING' },
    })
    expect(await records(context)).toEqual([])
    expect(filesIn(context.paths.archive)).toEqual([])
  })

  it("raises the fault of a job type's own file only for scans of that type", async () => {
    const base = await workspace()
    const fault = new ProblemError('SETTINGS_INVALID', 'job-types/broken.yaml line 3')
    const context = await workspace({
      load: async () => {
        const { jobTypes, calibrations } = await base.load()
        return { jobTypes: { types: jobTypes.types, unusable: new Map([['broken', fault]]) }, calibrations }
      },
    })
    const file = folder.put('a.tif', standInScan(3.4, 1))
    await expect(intoWorkspace(context)(arrivalOf(file, { folder: 'broken' }), watching)).rejects.toBe(fault)
    expect((await intoWorkspace(context)(arrivalOf(file), watching)).known).toBe(false)
  })

  const steps: InspectionStep[] = ['hash', 'open', 'measure', 'judge', 'archive', 'report', 'record', 'done']
  it.each(steps)('cut off before the step "%s" and run again: one record, one report, one archived scan', async cut => {
    class Killed extends Error {}
    const dying = await workspace({
      onStep: step => {
        if (step === cut) throw new Killed()
      },
    })
    const file = folder.put('inbox/a.tif', standInScan(3.4, 1))
    await expect(intoWorkspace(dying)(arrivalOf(file), watching)).rejects.toBeInstanceOf(Killed)
    await dying.store.close()

    const context = await workspace({ now: () => new Date('2025-03-04T13:00:00Z') })
    const outcome = await intoWorkspace(context)(arrivalOf(file), watching)
    const all = await records(context)
    expect(all).toHaveLength(1)
    expect(all[0]).toEqual(outcome.inspection)
    expect(outcome.known).toBe(cut === 'done')
    expect(filesIn(context.paths.reports).sort()).toEqual(
      [`a__${all[0]!.id}.html`, `a__${all[0]!.id}.json`, 'index.html', 'process.html'].sort(),
    )
    expect(JSON.parse(readFileSync(outcome.report!.replace('.html', '.json'), 'utf8'))).toEqual(all[0])
    expect(filesIn(context.paths.archive).filter(name => name.endsWith('.tif'))).toHaveLength(1)
    rmSync(file)
    expect(
      readFileSync(join(context.paths.archive, all[0]!.scan.sha256.slice(0, 2), `${all[0]!.scan.sha256}.tif`)),
    ).toEqual(standInScan(3.4, 1))
  })
})

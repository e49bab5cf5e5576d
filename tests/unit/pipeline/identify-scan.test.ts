import { describe, expect, it } from 'vitest'
import type { ScanArrival } from '../../../src/model/arrival.js'
import type { ScanHeader } from '../../../src/model/scan.js'
import type { Sidecar } from '../../../src/model/site.js'
import { identifyPositive, identifyScan, type ScanFacts } from '../../../src/pipeline/identify-scan.js'
import { parseSiteSettings } from '../../../src/settings/site-settings.js'
import { arrivalOf } from '../../support/workspace-context.js'
import { problemOf } from '../settings/problem-of.js'

const site = parseSiteSettings('', 'burngate.yaml')
const header: ScanHeader = {
  file: 'x',
  format: 'tiff',
  width: 10,
  height: 10,
  dpi: { across: 1200, along: 1200 },
  bits: 16,
  channels: 1,
  channel: 'grey',
  compression: 'none',
  maker: null,
  model: null,
  taggedAt: null,
  warnings: [],
}
const told = (facts: Sidecar): ScanArrival['sidecar'] => ({ text: '', facts })
const facts = (change: Partial<ScanFacts> = {}): ScanFacts => ({
  arrival: arrivalOf('a/HARBOR-17__back.tif'),
  header,
  site,
  jobTypes: ['bold', 'fine-line', 'halftone'],
  calibrations: [],
  history: { lastJobType: null, sameScan: null },
  now: new Date('2026-03-01T00:00:00Z'),
  ...change,
})

describe('identifyPositive', () => {
  it('asks the command line, the sidecar, the pattern and the stem, in this order', () => {
    const all = arrivalOf('a/HARBOR-17__back.tif', { told: { positive: 'C' }, sidecar: told({ positive: 'S' }) })
    expect(identifyPositive(all, site)).toEqual({ positive: 'C', positiveFrom: 'commandLine' })
    expect(identifyPositive({ ...all, told: {} }, site)).toEqual({ positive: 'S', positiveFrom: 'sidecar' })
    expect(identifyPositive({ ...all, told: {}, sidecar: null }, site)).toEqual({
      positive: 'HARBOR-17',
      positiveFrom: 'fileName',
    })
    const strict = { ...site, fileName: 'job-<positive>.<ext>' }
    expect(identifyPositive(arrivalOf('a/HARBOR-17__back.tif'), strict)).toEqual({
      positive: 'HARBOR-17__back',
      positiveFrom: 'stem',
    })
  })

  it('refuses a name that is no name, whoever says it', () => {
    const bad = arrivalOf('a/x.tif', { told: { positive: '../x' } })
    expect(problemOf(() => identifyPositive(bad, site)).code).toBe('POSITIVE_NAME_INVALID')
  })
})

describe('identifyScan: the job type', () => {
  const arrival = (change: Partial<ScanArrival>) => arrivalOf('a/x.tif', change)

  it('comes from the command line, the sidecar, the folder, the history, the site, in this order', () => {
    const answers = { history: { lastJobType: 'halftone', sameScan: null } }
    const who = (change: Partial<ScanArrival>, more: Partial<ScanFacts> = answers) => {
      const { jobType, jobTypeFrom } = identifyScan(facts({ arrival: arrival(change), ...more }))
      return [jobType, jobTypeFrom]
    }
    const sidecar = told({ jobType: 'halftone' })
    expect(who({ told: { jobType: 'bold' }, sidecar, folder: 'fine-line' })).toEqual(['bold', 'commandLine'])
    expect(who({ sidecar, folder: 'fine-line' })).toEqual(['halftone', 'sidecar'])
    expect(who({ folder: 'bold' })).toEqual(['bold', 'folder'])
    expect(who({})).toEqual(['halftone', 'history'])
    expect(who({}, {})).toEqual(['fine-line', 'site'])
  })

  it('is the default, with a note and the nearest name, when the folder names none', () => {
    const found = identifyScan(facts({ arrival: arrival({ folder: 'fine-lines' }) }))
    expect(found.jobType).toBe('fine-line')
    expect(found.notes).toEqual([
      'The inbox folder "fine-lines" names no job type (the nearest is fine-line), so it was passed over.',
    ])
  })

  it('is the default, with a note, when the last one is gone', () => {
    const found = identifyScan(facts({ history: { lastJobType: 'gone', sameScan: null } }))
    expect([found.jobType, found.jobTypeFrom]).toEqual(['fine-line', 'site'])
    expect(found.notes).toEqual(['This positive was last judged as gone, which is no longer among the job types.'])
  })

  it('is refused when the command line, the sidecar or the site name one that is not there', () => {
    const refused = (change: Partial<ScanFacts>) => problemOf(() => identifyScan(facts(change)))
    expect(refused({ arrival: arrival({ told: { jobType: 'boldd' } }) })).toMatchObject({
      code: 'JOB_TYPE_UNKNOWN',
      what: 'there is no job type "boldd" (asked for by --job-type; did you mean bold?)',
    })
    expect(refused({ arrival: arrival({ sidecar: told({ jobType: 'x' }) }) }).what).toBe(
      'there is no job type "x" (named by the sidecar)',
    )
    expect(refused({ site: { ...site, defaultJobType: 'y' } })).toMatchObject({
      code: 'SETTINGS_INVALID',
      what: expect.stringContaining('defaultJobType is "y"'),
    })
  })
})

describe('identifyScan: time and resolution', () => {
  it('takes the time of the sidecar, the tag, the earlier record of the same scan, the file', () => {
    const when = (change: Partial<ScanFacts>) => {
      const { scannedAt, scannedAtFrom } = identifyScan(facts(change))
      return [scannedAt, scannedAtFrom]
    }
    const sidecar = arrivalOf('a/x.tif', { sidecar: told({ scannedAt: '2026-02-01' }) })
    const tagged = { ...header, taggedAt: '2026-02-02T10:00:00' }
    const history = {
      lastJobType: null,
      sameScan: { scannedAt: '2026-01-09T00:00:00.000Z', scannedAtFrom: 'fileTime' as const },
    }
    expect(when({ arrival: sidecar, header: tagged, history })).toEqual(['2026-02-01', 'sidecar'])
    expect(when({ header: tagged, history })).toEqual(['2026-02-02T10:00:00', 'tag'])
    expect(when({ history })).toEqual(['2026-01-09T00:00:00.000Z', 'fileTime'])
    expect(when({})).toEqual(['2025-03-04T11:00:00.000Z', 'fileTime'])
  })

  it("takes the sidecar's dpi before the file's, and the site's only when the file has none", () => {
    const withDpi = { ...site, scanners: { 'flatbed-a': { dpi: 600 } } }
    const sidecar = arrivalOf('a/x.tif', { sidecar: told({ dpi: 2400 }) })
    expect(identifyScan(facts({ arrival: sidecar, site: withDpi })).dpi).toEqual({
      across: 2400,
      along: 2400,
      from: 'sidecar',
    })
    expect(identifyScan(facts({ site: withDpi })).dpi).toBeNull()
    expect(identifyScan(facts({ site: withDpi, header: { ...header, dpi: null } })).dpi).toEqual({
      across: 600,
      along: 600,
      from: 'site',
    })
  })

  it('says that a bracket is not joined yet', () => {
    const found = identifyScan(facts({ arrival: arrivalOf('a/x.tif', { sidecar: told({ bracket: 'b1' }) }) }))
    expect(found.notes[0]).toContain('bracket "b1"')
  })
})

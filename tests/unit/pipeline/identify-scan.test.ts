import { describe, expect, it } from 'vitest'
import type { ScanArrival } from '../../../src/model/arrival.js'
import type { ScanHeader } from '../../../src/model/scan.js'
import type { Sidecar } from '../../../src/model/site.js'
import type { StripIdentity } from '../../../src/model/strip.js'
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
const stripSays = (identity: Partial<StripIdentity>): NonNullable<ScanArrival['strip']> => ({
  identity: {
    positive: 'P',
    jobType: 'bold',
    dpi: { across: 720, along: 720 },
    form: 'short',
    laid: 'head',
    tints: 'screened',
    ...identity,
  },
  found: 1,
  refused: null,
})
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

  it('believes the control strip before the sidecar and the file name, and the command line before it', () => {
    const all = arrivalOf('a/HARBOR-17__back.tif', { strip: stripSays({}), sidecar: told({ positive: 'S' }) })
    expect(identifyPositive(all, site)).toEqual({ positive: 'P', positiveFrom: 'strip' })
    expect(identifyPositive({ ...all, told: { positive: 'C' } }, site).positiveFrom).toBe('commandLine')
    // A strip that was not believed says nothing.
    const refused = { identity: null, found: 1, refused: 'its check does not agree with what it says' }
    expect(identifyPositive({ ...all, strip: refused }, site).positiveFrom).toBe('sidecar')
    expect(identifyPositive({ ...all, strip: refused, sidecar: null }, site).positiveFrom).toBe('fileName')
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

describe('identifyScan: the control strip', () => {
  const from = (change: Partial<ScanArrival>, more: Partial<ScanFacts> = {}) => {
    const { jobType, jobTypeFrom } = identifyScan(facts({ arrival: arrivalOf('a/x.tif', change), ...more }))
    return [jobType, jobTypeFrom]
  }

  it('names the job type before the history and the site, after the command line, the sidecar and the folder', () => {
    const strip = stripSays({ jobType: 'halftone' })
    const history = { lastJobType: 'bold', sameScan: null }
    expect(from({ strip }, { history })).toEqual(['halftone', 'strip'])
    expect(from({ strip, folder: 'bold' })).toEqual(['bold', 'folder'])
    expect(from({ strip, folder: 'fine-line', sidecar: told({ jobType: 'bold' }) })).toEqual(['bold', 'sidecar'])
    expect(from({ strip, told: { jobType: 'fine-line' } })).toEqual(['fine-line', 'commandLine'])
    expect(from({ strip: stripSays({ jobType: '' }) }, { history })).toEqual(['bold', 'history'])
    // It was a job type when the strip was believed.
    expect(from({ strip: stripSays({ jobType: 'gone' }) }, { history })).toEqual(['bold', 'history'])
  })

  it('notes a sidecar that names another positive', () => {
    const arrival = arrivalOf('a/x.tif', { strip: stripSays({}), sidecar: told({ positive: 'S' }) })
    expect(identifyScan(facts({ arrival })).notes).toEqual([
      'The sidecar names the positive "S", the control strip "P": the strip was believed.',
    ])
  })

  it('that was refused is a doubt, and only a note where somebody says which positive it is', () => {
    const strip = { identity: null, found: 1, refused: 'its positive holds a path' }
    const alone = identifyScan(facts({ arrival: arrivalOf('a/x.tif', { strip }) }))
    expect(alone.doubts.map(({ code }) => code)).toContain('stripRefused')
    expect(alone.doubts.find(({ code }) => code === 'stripRefused')!.why).toBe(
      'The code of the control strip was not taken: its positive holds a path. The scan is read as one without a strip.',
    )
    for (const change of [{ told: { positive: 'C' } }, { sidecar: told({ positive: 'S' }) }]) {
      const named = identifyScan(facts({ arrival: arrivalOf('a/x.tif', { strip, ...change }) }))
      expect(named.doubts.map(({ code }) => code)).not.toContain('stripRefused')
      expect(named.notes.join(' ')).toContain('its positive holds a path')
    }
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

import { describe, expect, it } from 'vitest'
import { parseSiteSettings } from '../../../src/settings/site-settings.js'
import { problemOf } from './problem-of.js'

const parse = (text: string) => parseSiteSettings(text, 'burngate.yaml')
const what = (text: string) => problemOf(() => parse(text)).what

describe('parseSiteSettings', () => {
  it('gives every default for an empty file', () => {
    expect(parse('')).toEqual({
      shop: 'Screen shop',
      defaultJobType: 'fine-line',
      fileName: '<positive>[__<anything>].<ext>',
      lengthUnit: 'mm',
      rulingUnit: 'lines/in',
      channel: 'blue',
      meshes: [],
      calibrationMaxAgeDays: 90,
      settleSeconds: 3,
      sidecarWaitSeconds: 60,
      bracketWaitSeconds: 120,
      usePolling: false,
      inkSideUp: null,
      workers: 2,
      storage: 'sqlite',
      retentionDays: null,
      scanners: {},
    })
  })

  it('reads what a shop writes', () => {
    const site = parse('shop: Tidewater Screenworks\nscanners:\n  flatbed-a: { dpi: 1200, maker: maker-a }\n')
    expect(site.shop).toBe('Tidewater Screenworks')
    expect(site.scanners).toEqual({ 'flatbed-a': { dpi: 1200, maker: 'maker-a' } })
    expect(Object.isFrozen(site.scanners['flatbed-a'])).toBe(true)
  })

  it.each([
    ['calibrationMaxAgeDays', 1, 0],
    ['calibrationMaxAgeDays', 3650, 3651],
    ['settleSeconds', 0.1, 0.09],
    ['settleSeconds', 600, 601],
    ['sidecarWaitSeconds', 0, -1],
    ['bracketWaitSeconds', 3600, 3601],
    ['workers', 16, 17],
    ['workers', 1, 1.5],
  ])('%s may be %d and not %d', (key, good, bad) => {
    expect(parse(`${key}: ${good}`)).toMatchObject({ [key]: good })
    expect(what(`${key}: ${bad}`)).toContain(`\`${key}\` is ${bad}; it must be`)
  })

  it('refuses storage and retention it does not have', () => {
    expect(what('storage: postgresql')).toContain('it must be sqlite')
    expect(what('retentionDays: 30')).toContain('`retentionDays` is 30; it must be empty or null')
    expect(parse('retentionDays:').retentionDays).toBeNull()
  })

  it('points into nested groups', () => {
    expect(what('scanners:\n  flatbed-a:\n    dpii: 3\n')).toContain(
      'line 3, `scanners.flatbed-a.dpii`: there is no such key; did you mean `dpi`?',
    )
    expect(what('scanners:\n  a/b: {}\n')).toContain('line 2, `scanners.a/b`: it must be letters')
    expect(what('defaultJobType: ../x')).toContain('`defaultJobType` is "../x"; it must be letters')
  })

  it('checks the file-name pattern when it is read', () => {
    expect(what('fileName: <postive>.<ext>')).toContain('did you mean <positive>?')
  })
})

import { readdirSync, readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { PROBLEMS } from '../../../src/model/problem.js'
import { READINGS } from '../../../src/model/reading.js'
import {
  measureFileOf,
  problemsTable,
  readingsTable,
  settingsTable,
  updateReadme,
} from '../../../src/settings/readme-tables.js'
import { sidecarSchema } from '../../../src/settings/sidecar-settings.js'
import { siteSettingsSchema } from '../../../src/settings/site-settings.js'

describe('README', () => {
  it('holds the tables as the code gives them (else run `npm run docs`)', () => {
    const readme = readFileSync(new URL('../../../README.md', import.meta.url), 'utf8')
    const measureFiles = readdirSync(new URL('../../../src/measure/', import.meta.url))
    expect(readme).toBe(updateReadme(readme, measureFiles))
  })
})

describe('settingsTable', () => {
  it('has a row for every setting of the site and the sidecar', () => {
    const table = settingsTable()
    for (const key of [...Object.keys(siteSettingsSchema.shape), ...Object.keys(sidecarSchema.shape)])
      expect(table).toMatch(new RegExp(`^\\| \`${key}\` \\|`, 'm'))
  })

  it('prints default and range from the schema', () => {
    expect(settingsTable()).toContain('| `workers` | `2` | whole, 1 to 16 | Scans measured at the same time. |')
    expect(settingsTable()).toContain('| `name` | must be given |')
    expect(settingsTable()).toContain('| `limits.<reading>.min` |')
  })
})

describe('problemsTable', () => {
  it('has one row a problem, no unfilled detail and no raw markup', () => {
    const rows = problemsTable().split('\n').slice(2)
    expect(rows.map(row => /`(\w+)`/.exec(row)?.[1])).toEqual(Object.keys(PROBLEMS))
    expect(problemsTable()).not.toContain('{detail}')
    expect(problemsTable().replace(/`[^`]*`/g, '')).not.toMatch(/(?<!\\)[<>]/)
  })
})

describe('readingsTable', () => {
  it('names the file that makes each reading, or says that there is none yet', () => {
    const table = readingsTable(['rise-width.ts'])
    expect(table).toContain('`src/measure/rise-width.ts` | `tests/unit/measure/rise-width.test.ts`')
    expect(table).toMatch(/^\| `baseDensity` .*\| not yet \| not yet \|$/m)
    for (const name of Object.keys(READINGS)) expect(table).toContain(`| \`${name}\` |`)
  })
})

describe('measureFileOf', () => {
  it('takes the longest name the reading begins with, at a word', () => {
    const files = ['solid-density.ts', 'solid.ts', 'rise-width-worst.ts', 'rise-width.ts', 'ink.ts']
    expect(measureFileOf('solidDensityLowest', files)).toBe('solid-density')
    expect(measureFileOf('riseWidthWorst', files)).toBe('rise-width-worst')
    expect(measureFileOf('inkySpread', files)).toBeNull()
  })
})

describe('updateReadme', () => {
  const markers = ['settings', 'problems', 'readings'].map(n => `<!-- ${n}:begin -->\noutdated\n<!-- ${n}:end -->`)
  it('replaces what stands between markers and nothing else', () => {
    const text = updateReadme(`# top\n${markers.join('\nkept\n')}\ntail\n`, [])
    expect(text).not.toContain('outdated')
    expect(text.match(/kept/g)).toHaveLength(2)
    expect(text).toMatch(/^# top\n[\s\S]*\ntail\n$/)
    expect(updateReadme(text, [])).toBe(text)
  })

  it('refuses a README without its markers', () => {
    expect(() => updateReadme(markers.slice(1).join('\n'), [])).toThrow('<!-- settings:begin -->')
    expect(() => updateReadme('<!-- settings:end --> <!-- settings:begin -->', [])).toThrow(RangeError)
  })
})

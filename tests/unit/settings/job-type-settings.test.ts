import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { READINGS } from '../../../src/model/reading.js'
import { parseJobType } from '../../../src/settings/job-type-settings.js'
import { LIMIT_NAMES, limitRange } from '../../../src/settings/limit-ranges.js'
import { problemOf } from './problem-of.js'

const parse = (rest: string) => parseJobType(`name: crest\n${rest}`, 'crest.yaml')
const what = (rest: string) => problemOf(() => parse(rest)).what

describe('parseJobType', () => {
  it('reads the contract example', () => {
    const job = parse(`description: Text and strokes down to 0.15 mm
limits:
  solidDensity:   { min: 3.0, aim: 3.8, why: "holds the lamp" }
  riseWidth:      { max: 60 }
  edgeGrowth:     { max: 15 }
rule: guarded
rescanEvery: 30 days
printed: { ruling: 55, angle: 22.5, mesh: 305 }
`)
    expect(job).toEqual({
      name: 'crest',
      description: 'Text and strokes down to 0.15 mm',
      limits: {
        solidDensity: { min: 3, aim: 3.8, why: 'holds the lamp' },
        riseWidth: { max: 60 },
        edgeGrowth: { max: 15 },
      },
      rule: 'guarded',
      rescanEveryDays: 30,
      printed: { ruling: 55, angle: 22.5, mesh: 305 },
    })
    expect(Object.isFrozen(job)).toBe(true)
    expect(Object.isFrozen(job.limits.riseWidth)).toBe(true)
  })

  it('has defaults for all but name and limits', () => {
    expect(parse('limits: {}')).toEqual({
      name: 'crest',
      description: '',
      limits: {},
      rule: 'guarded',
      rescanEveryDays: null,
      printed: {},
    })
    expect(problemOf(() => parseJobType('', 'crest.yaml')).what).toContain('`name` is missing; it must be text')
  })

  it.each([
    ['never', null],
    ['1 day', 1],
    ['30 days', 30],
    ['2 weeks', 14],
    ['3 months', 91],
    ['1 year', 365],
  ])('rescanEvery %s is %s days', (text, days) => {
    expect(parse(`limits: {}\nrescanEvery: ${text}`).rescanEveryDays).toBe(days)
  })

  it.each(['30', '0 days', '-1 days', '2 fortnights', 'thirty days', '1.5 weeks'])('refuses rescanEvery %s', text => {
    expect(what(`limits: {}\nrescanEvery: ${text}`)).toContain('as in `30 days`, `2 weeks`')
  })

  it.each(['60', '"60"', '60 um', '60um', '60 µm', '60.0 um', '"+60 um"'])('takes %s as a width', text => {
    expect(parse(`limits: { riseWidth: { max: ${text} } }`).limits.riseWidth).toEqual({ max: 60 })
  })

  it.each(['0.06 mm', '60 D', '60 µ m', '6e1 um', 'sixty', '"60,5 um"'])('refuses %s as a width', text => {
    expect(what(`limits: { riseWidth: { max: ${text} } }`)).toContain('it must be a number in um, as 60 or "60 um"')
  })

  it('holds every value to what its unit can be, on both sides of both edges', () => {
    for (const name of LIMIT_NAMES) {
      const { lowest, highest, whole, unit } = limitRange(name)
      const step = whole ? 1 : 0.001
      const written = unit === 'count' ? '' : ` ${unit}`
      for (const good of [lowest, highest]) {
        expect(parse(`limits: { ${name}: { max: ${good} } }`).limits[name]).toEqual({ max: good })
        expect(parse(`limits: { ${name}: { max: "${good}${written}" } }`).limits[name]).toEqual({ max: good })
      }
      for (const bad of [lowest - step, highest + step]) {
        const rule = `limits.${name}.max\` is `
        expect(what(`limits: { ${name}: { max: ${bad} } }`)).toContain(rule)
        expect(what(`limits: { ${name}: { max: "${bad}${written}" } }`)).toContain(rule)
      }
    }
  })

  it('counts are whole', () => {
    expect(parse('limits: { pinholeCount: { max: 2 } }').limits.pinholeCount).toEqual({ max: 2 })
    expect(what('limits: { pinholeCount: { max: 1.5 } }')).toContain('is 1.5; it must be a whole number')
    expect(what('limits: { pinholeCount: { max: "1.5" } }')).toContain('it must be a whole number')
  })

  it('refuses a limit that limits nothing or contradicts itself', () => {
    expect(what('limits: { riseWidth: { why: soft } }')).toContain('it must have min, max or aim')
    expect(what('limits: { riseWidth: }')).toContain('`limits.riseWidth` is empty')
    expect(what('limits: { riseWidth: { min: 3, max: 2 } }')).toContain(
      '`limits.riseWidth.min` is 3; it must not be above max (2)',
    )
    expect(parse('limits: { riseWidth: { min: 2, max: 2 } }').limits.riseWidth).toEqual({ min: 2, max: 2 })
    expect(what('limits: { solidDensity: { min: 3, aim: 2.9 } }')).toContain(
      'aim` is 2.9; it must not be below min (3)',
    )
    expect(what('limits: { riseWidth: { max: 3, aim: 4 } }')).toContain('aim` is 4; it must not be above max (3)')
  })

  it.each(['.nan', '.inf', '-.inf', 'true', '[60]'])('refuses %s as a limit', text => {
    expect(what(`limits: { riseWidth: { max: ${text} } }`)).toContain('`limits.riseWidth.max` is ')
  })

  it('names the reading meant by any reading with two letters swapped', () => {
    fc.assert(
      fc.property(fc.constantFrom(...LIMIT_NAMES), fc.nat(), (name, n) => {
        const i = n % (name.length - 1)
        const wrong = name.slice(0, i) + name[i + 1] + name[i] + name.slice(i + 2)
        fc.pre(wrong !== name)
        expect(what(`limits:\n  ${wrong}: { max: 1 }`)).toContain(
          `line 3, \`limits.${wrong}\`: there is no such key; did you mean \`${name}\`?`,
        )
      }),
      { seed: 3, numRuns: 60 },
    )
  })

  it('is not fooled by names every object has', () => {
    for (const name of ['toString', 'constructor', 'hasOwnProperty', '__proto__'])
      expect(what(`limits: { ${name}: { max: 1 } }`)).toMatch(/there is no such key|cannot be a key/)
  })
})

describe('the job types shipped', () => {
  it.each(['bold', 'fine-line', 'halftone', 'ladder'])('%s is read, and every limit has its reason', name => {
    const text = readFileSync(new URL(`../../../pipelines/${name}.yaml`, import.meta.url), 'utf8')
    expect(text.split('\n')[0]).toBe('# yaml-language-server: $schema=./job-type.schema.json')
    const job = parseJobType(text, `${name}.yaml`)
    expect(job.name).toBe(name)
    expect(job.rule).toBe('guarded')
    expect(job.limits.solidDensity).toMatchObject({ min: 3, aim: 3.8 })
    for (const [reading, limit] of Object.entries(job.limits)) {
      expect(Object.keys(READINGS), 'only what this version measures').toContain(reading)
      expect(limit.min !== undefined || limit.max !== undefined, reading).toBe(true)
      expect(limit.why, reading).toMatch(/(trade figure|Common practice, no source)/)
    }
  })
})

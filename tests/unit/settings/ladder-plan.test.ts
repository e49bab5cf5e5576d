import { describe, expect, it } from 'vitest'
import { parseLadderPlan } from '../../../src/settings/ladder-plan.js'
import { ladderPlan } from '../../support/ladder-plan.js'
import { problemOf } from './problem-of.js'

const HEAD = `name: spring-film-test
jobType: fine-line
stocks: [stock-a, stock-b]
modes:
  - { name: fast, dpi: [720, 720], directions: 2, minutes: 1.5 }
  - { name: fine, dpi: [1440, 720], directions: 1, minutes: 4 }
`
const parse = (text: string) => parseLadderPlan(text, 'plan.yaml')
const fault = (text: string) => problemOf(() => parse(text)).what

describe('parseLadderPlan', () => {
  it('reads the plan of the contract', () => {
    expect(parse(`${HEAD}levels: [4, 6, 8, 10, 12]\ninkPerLevel: 0.08\nweigh: { minutes: 1, ink: 0.2 }\n`)).toEqual(
      ladderPlan({ weigh: { minutes: 1, ink: 0.2 } }),
    )
    expect(Object.isFrozen(parse(`${HEAD}levels: [4]\n`))).toBe(true)
  })

  it('reads percent, and a row of patches in place of levels', () => {
    expect(parse(`${HEAD}levels: ["40 %", "60%"]\n`)).toMatchObject({ levels: [40, 60], levelUnit: '%' })
    expect(parse(`${HEAD}patches: { count: 5, pitch: 12, first: 4, last: 12 }\n`)).toMatchObject({
      levels: [4, 6, 8, 10, 12],
      patches: { count: 5, pitchMm: 12 },
    })
  })

  it('names line, key, value and rule of every fault', () => {
    const text = `name: x
jobType: fine-line
stocks: [stock-a]
modes:
  - { name: fast, dpi: [720, 720], directions: 3, minutes: 0 }
  - name: fine
    dpi: [1440]
    direction: 1
    minutes: 4
levels: []
`
    const what = fault(text)
    for (const sentence of [
      'line 5, `modes[1].directions` is 3; it must be 1 or 2',
      'line 5, `modes[1].minutes` is 0; it must be 0.01 or more',
      'line 7, `modes[2].dpi` is a list; it must have 2 or more entries',
      'line 8, `modes[2].direction`: there is no such key; did you mean `directions`?',
      'line 10, `levels` is a list; it must have 1 or more entries',
    ])
      expect(what).toContain(sentence)
  })

  it.each([
    ['levels: [4, 6, 6]', '`levels[3]` is 6; it is named twice, as number 2 and 3; leave one out'],
    ['levels: [4, 8, 6]', '`levels[3]` is 6; levels go from little ink to much'],
    ['levels: [4, "60 %"]', '`levels[2]` is "60 %"; all levels must be numbers, or all percent'],
    ['levels: [4, much]', '`levels[2]` is "much"; it must be a number, or percent as in "40 %"'],
    ['repeats: 2', '`levels` is missing; name at least one ink level, or describe patches'],
    ['levels: [4]\npatches: { count: 3, pitch: 9, first: 1, last: 3 }', 'levels or patches, not both'],
    ['patches: { count: 3, pitch: 9, first: 3, last: 3 }', '`patches.last` is 3; it must be above first (3)'],
    ['levels: [4]\nweigh: { minutes: 0, ink: 0 }', 'minutes or ink must be worth more than 0'],
  ])('refuses %j', (rest, sentence) => {
    expect(fault(`${HEAD}${rest}\n`)).toContain(sentence)
  })

  it('refuses a stock or mode named twice, however it is written, and a mode without ink beside one with', () => {
    const head = (stocks: string, modes: string) =>
      `name: x\njobType: bold\nstocks: ${stocks}\nmodes: ${modes}\nlevels: [1]\n`
    const mode = (name: string, more = '') => `{ name: ${name}, dpi: [720, 720], directions: 1, minutes: 1${more} }`
    expect(fault(head('[a, A]', `[${mode('m')}]`))).toContain('`stocks[2]` is "A"; it is named twice')
    expect(fault(head('[a]', `[${mode('m')}, ${mode('m')}]`))).toContain('`modes[2].name` is "m"; it is named twice')
    expect(fault(head('[a]', `[${mode('m', ', inkPerLevel: 0.1')}, ${mode('n')}]`))).toContain(
      'give every mode its inkPerLevel',
    )
    expect(fault(head('["a__b"]', `[${mode('m')}]`))).toContain('no `..` or `__`')
  })
})

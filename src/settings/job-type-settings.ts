import * as z from 'zod'
import type { JobType } from '../model/job-type.js'
import { type LimitName, READINGS, type Unit } from '../model/reading.js'
import { LIMIT_NAMES, type LimitRange, limitRange } from './limit-ranges.js'
import { NAME_RULE, namePattern } from './name-rule.js'
import { readYaml } from './yaml-document.js'

/** Days in a month for re-scans: a twelfth of 365.25. */
const MONTH_DAYS = 30.4375
const DAYS: Readonly<Record<string, number>> = { day: 1, week: 7, month: MONTH_DAYS, year: 365.25 }

const rescanEvery = z
  .string()
  .regex(/^(never|[1-9][0-9]{0,3} (day|week|month|year)s?)$/, {
    error: 'it must be `never` or a time as in `30 days`, `2 weeks`, `3 months`, `1 year`',
  })
  .meta({ examples: ['never', '30 days', '2 weeks', '3 months', '1 year'] })
  .transform((text): number | null => {
    if (text === 'never') return null
    const [count, unit] = text.split(' ')
    return Math.round(Number(count) * DAYS[unit!.replace(/s$/, '')]!)
  })

const EXAMPLES: Readonly<Record<Unit, string>> = {
  D: '3.0',
  um: '60',
  mm: '2.5',
  mm2: '0.5',
  '%': '5',
  'lines/in': '55',
  degrees: '22.5',
  count: '3',
}

type LimitSchema = ReturnType<typeof limitWithin>

/** One schema for all readings with the same unit and range: thirty of their own would take longer to build than to use. */
const SAME_RANGE = new Map<string, LimitSchema>()

/** One value of a limit: a number, or a number with the reading's own unit as text. */
function quantity({ unit, lowest, highest, whole }: LimitRange) {
  const plain = whole ? z.number().int().min(lowest).max(highest) : z.number().min(lowest).max(highest)
  const written = unit === 'um' ? '(um|µm|μm)' : unit
  const example = EXAMPLES[unit]
  const withUnit = z
    .string()
    .regex(new RegExp(`^[+-]?[0-9]+([.][0-9]+)?( ?${written})?$`, 'u'), {
      error: `it must be a number in ${unit}, as ${example} or "${example} ${unit}"`,
    })
    .transform(text => Number.parseFloat(text))
    .pipe(plain)
  return z.union([plain, withUnit])
}

function limitWithin(range: LimitRange) {
  const value = quantity(range)
  return z
    .strictObject({
      min: value.exactOptional().describe('The film fails below it.'),
      max: value.exactOptional().describe('The film fails above it.'),
      aim: value.exactOptional().describe('Advice in the report, never a verdict.'),
      why: z.string().min(1).max(300).exactOptional().describe('Why this limit; printed beside it.'),
    })
    .superRefine((limit, context) => {
      const refuse = (path: string[], message: string) => context.addIssue({ code: 'custom', path, message })
      const { min, max, aim } = limit
      if (min === undefined && max === undefined && aim === undefined) refuse([], 'it must have min, max or aim')
      if (min !== undefined && max !== undefined && !(min <= max)) refuse(['min'], `it must not be above max (${max})`)
      if (aim !== undefined && min !== undefined && !(aim >= min)) refuse(['aim'], `it must not be below min (${min})`)
      if (aim !== undefined && max !== undefined && !(aim <= max)) refuse(['aim'], `it must not be above max (${max})`)
    })
}

function limitOf(name: LimitName) {
  const range = limitRange(name)
  const kind = Object.values(range).join(' ')
  const schema = SAME_RANGE.get(kind) ?? limitWithin(range)
  SAME_RANGE.set(kind, schema)
  const meaning =
    name in READINGS
      ? READINGS[name as keyof typeof READINGS].meaning
      : 'Between the films of one job: asked by `burngate set`, not of a film by itself.'
  return schema.describe(`${meaning} Unit: ${range.unit}.`).exactOptional()
}

const limits = z.strictObject(
  Object.fromEntries(LIMIT_NAMES.map(name => [name, limitOf(name)])) as Record<LimitName, ReturnType<typeof limitOf>>,
)

/** A job type file: the only place where its ranges and defaults stand. */
export const jobTypeSchema = z
  .strictObject({
    name: z
      .string()
      .regex(namePattern, { error: NAME_RULE })
      .describe('The name, as in inbox/<name>/; the same as the file, without .yaml.'),
    description: z.string().max(300).default('').describe('What films it is for.'),
    limits: limits.describe('Any reading name: min, max or both; aim is advice.'),
    rule: z
      .enum(['guarded', 'simple'])
      .default('guarded')
      .describe(
        'guarded: the whole of value ± U must lie inside the limit to pass, outside to fail; simple: the value alone decides.',
      ),
    rescanEvery: rescanEvery.prefault('never').describe('How long until a stored positive is due for another scan.'),
    strip: z
      .enum(['optional', 'required'])
      .exactOptional()
      .describe(
        'required: a film on which no control strip was read is a recheck; optional, or left out: limits on what only the strip tells are asked of films that have one.',
      ),
    printed: z
      .strictObject({
        ruling: z.number().min(1).max(1000).exactOptional().describe('Screen ruling, lines/in.'),
        angle: z.number().min(0).max(180).exactOptional().describe('Screen angle, degrees.'),
        mesh: z.number().min(1).max(1000).exactOptional().describe('Mesh count, threads/in.'),
      })
      .default({})
      .describe('What to expect on the film, where it applies.'),
  })
  .describe('The tolerances of one kind of job.')

/**
 * A job type from the text of its YAML file, frozen.
 * @param file name used in messages
 * @throws ProblemError SETTINGS_INVALID naming every fault with its line, key, value, rule and nearest right name
 */
export function parseJobType(text: string, file: string): JobType {
  const { rescanEvery: rescanEveryDays, ...rest } = readYaml(text, file, jobTypeSchema, {
    problem: 'SETTINGS_INVALID',
    textKeys: ['name', 'description', 'rescanEvery'],
  })
  return Object.freeze({ ...rest, rescanEveryDays })
}

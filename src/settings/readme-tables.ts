import * as z from 'zod'
import { PROBLEMS } from '../model/problem.js'
import { READINGS, type ReadingKind, SET_READINGS, type Unit } from '../model/reading.js'
import { jobTypeSchema } from './job-type-settings.js'
import { ladderPlanSchema } from './ladder-plan.js'
import { LIMIT_NAMES, limitRange } from './limit-ranges.js'
import { namePattern } from './name-rule.js'
import { sidecarSchema } from './sidecar-settings.js'
import { siteSettingsSchema } from './site-settings.js'

/** As much of a JSON Schema as the tables show. */
interface Shape {
  readonly type?: string
  readonly description?: string
  readonly default?: unknown
  readonly enum?: readonly string[]
  readonly minimum?: number
  readonly maximum?: number
  readonly maxLength?: number
  readonly pattern?: string
  readonly format?: string
  readonly examples?: readonly string[]
  readonly anyOf?: readonly Shape[]
  readonly properties?: Readonly<Record<string, Shape>>
  readonly additionalProperties?: Shape | boolean
  readonly items?: Shape
  readonly required?: readonly string[]
}

/** Every setting of every file a person edits: setting, default, range and what it does, from the schemas. */
export function settingsTable(): string {
  const files: readonly (readonly [string, z.ZodType])[] = [
    ['`burngate.yaml`, the site', siteSettingsSchema],
    ['`job-types/<name>.yaml`, the tolerances of one kind of job', jobTypeSchema],
    ['`<scan>.<ext>.yaml`, a sidecar beside a scan', sidecarSchema],
    ['the plan of an ink ladder', ladderPlanSchema],
  ]
  return files
    .map(([title, schema]) => {
      const rows = rowsOf(z.toJSONSchema(schema, { io: 'input' }) as Shape, '')
      return `### ${title}\n\n${table(['setting', 'default', 'range', 'what it does'], rows)}`
    })
    .join('\n\n')
}

/** Every problem with its cure, from the table of problems. */
export function problemsTable(): string {
  const rows = Object.entries(PROBLEMS).map(([code, { what, next }]) => [
    `\`${code}\``,
    prose(what.replace(' ({detail})', '').replace('{detail}', '…')),
    prose(next),
  ])
  return table(['code', 'what happened', 'what to do'], rows)
}

/** Readings that no scan has alone: what two scans of one film differ by. */
const COMPARED_READINGS: ReadonlySet<string> = new Set(['edgeGrowth', 'fringeGrowth', 'densityLoss'])
const COMPARED = { code: 'src/compare/compare-films.ts', test: 'tests/truth/growth.test.ts' }

/**
 * Every reading with its unit, meaning and the files that make and test it.
 * @param measureFiles names of the files in src/measure: the file of a reading is the one that begins its name
 *   (`solid-density.ts` makes `solidDensityLowest` too)
 */
export function readingsTable(measureFiles: readonly string[]): string {
  const rows = (Object.entries(READINGS) as [string, ReadingKind][]).map(([name, { unit, meaning }]) => {
    const file = measureFileOf(name, measureFiles)
    const code = file !== null ? `src/measure/${file}.ts` : COMPARED_READINGS.has(name) ? COMPARED.code : null
    const test =
      file !== null ? `tests/unit/measure/${file}.test.ts` : COMPARED_READINGS.has(name) ? COMPARED.test : null
    const quoted = (path: string | null) => (path === null ? 'not yet' : `\`${path}\``)
    return [`\`${name}\``, unit, prose(meaning), quoted(code), quoted(test)]
  })
  const later = Object.entries(SET_READINGS).map(([name, unit]) => `\`${name}\` (${unit})`)
  return `${table(['reading', 'unit', 'meaning', 'code', 'test'], rows)}

A limit may also name what is between the films of one job: \`burngate set\` asks it, and a film by itself neither meets nor misses
it: ${later.join(', ')}.`
}

/** The file in src/measure, without `.ts`, that makes a reading: the longest name the reading's begins with, or null. */
export function measureFileOf(reading: string, measureFiles: readonly string[]): string | null {
  const kebab = reading.replace(/[A-Z]/g, letter => `-${letter.toLowerCase()}`)
  const stems = measureFiles.map(file => file.replace(/\.ts$/, ''))
  const fitting = stems.filter(stem => kebab === stem || kebab.startsWith(`${stem}-`))
  return fitting.sort((a, b) => b.length - a.length)[0] ?? null
}

/**
 * README with its generated sections brought up to date.
 * @throws RangeError when a pair of markers is missing
 */
export function updateReadme(readme: string, measureFiles: readonly string[]): string {
  const sections = { settings: settingsTable(), problems: problemsTable(), readings: readingsTable(measureFiles) }
  let text = readme
  for (const [name, content] of Object.entries(sections)) {
    const begin = `<!-- ${name}:begin -->`
    const end = `<!-- ${name}:end -->`
    const from = text.indexOf(begin)
    const to = text.indexOf(end)
    if (!(from >= 0 && to > from)) throw new RangeError(`README.md must hold ${begin} and after it ${end}`)
    text = `${text.slice(0, from + begin.length)}\n\n${content}\n\n${text.slice(to)}`
  }
  return text
}

function rowsOf(shape: Shape, prefix: string): readonly (readonly string[])[] {
  return Object.entries(shape.properties ?? {}).flatMap(([key, inner]) => {
    const name = `${prefix}${key}`
    if (name === 'limits') return limitRows(inner)
    const more = typeof inner.additionalProperties === 'object' ? inner.additionalProperties : null
    const required = shape.required?.includes(key) ?? false
    const listed = inner.items?.properties === undefined ? null : inner.items
    const rows = inner.properties === undefined && listed === null ? [row(name, inner, required)] : []
    const items = listed === null ? [] : rowsOf(listed, `${name}[].`)
    return [...rows, ...rowsOf(inner, `${name}.`), ...items, ...(more === null ? [] : rowsOf(more, `${name}.<name>.`))]
  })
}

/** The limits all look alike: one set of rows for any reading, with the values each unit allows. */
function limitRows(limits: Shape): readonly (readonly string[])[] {
  const ranges = new Map<Unit, string>()
  for (const { unit, lowest, highest, whole } of LIMIT_NAMES.map(limitRange))
    if (!ranges.has(unit) && lowest >= 0) ranges.set(unit, `${unit} ${whole ? 'whole, ' : ''}${lowest} to ${highest}`)
  const any = Object.values(limits.properties ?? {})[0]?.properties ?? {}
  return Object.entries(any).map(([key, inner]) => {
    const name = `limits.<reading>.${key}`
    return inner.anyOf === undefined
      ? row(name, inner, false)
      : [
          `\`${name}\``,
          '',
          `number, or text with the unit: ${[...ranges.values()].join('; ')}`,
          prose(inner.description ?? ''),
        ]
  })
}

function row(name: string, shape: Shape, required: boolean): readonly string[] {
  const standard = shape.default === undefined ? (required ? 'must be given' : '') : `\`${plainValue(shape.default)}\``
  return [`\`${name}\``, standard, prose(rangeOf(shape)), prose(shape.description ?? '')]
}

function rangeOf(shape: Shape): string {
  if (shape.enum !== undefined) return shape.enum.map(value => `\`${value}\``).join(', ')
  if (shape.examples !== undefined) return `as ${shape.examples.map(value => `\`${value}\``).join(', ')}`
  if (shape.anyOf !== undefined) return [...new Set(shape.anyOf.map(rangeOf))].join(' or ')
  if (shape.type === 'number' || shape.type === 'integer')
    return `${shape.type === 'integer' ? 'whole, ' : ''}${shape.minimum} to ${shape.maximum}`
  if (shape.type === 'boolean') return '`true`, `false`'
  if (shape.type === 'null') return 'empty'
  if (shape.type === 'object') return 'group'
  if (shape.type === 'array' && shape.items !== undefined) return `list: ${rangeOf(shape.items)}`
  if (shape.format === 'date-time') return 'date and time'
  if (shape.format === 'date') return 'date'
  if (shape.pattern === namePattern.source) return 'letters, digits, `.` `-` `_`, at most 64'
  return shape.maxLength === undefined ? 'text' : `text, at most ${shape.maxLength} characters`
}

function plainValue(value: unknown): string {
  if (value === '') return "''"
  return typeof value === 'string' ? value : JSON.stringify(value)
}

function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const line = (cells: readonly string[]): string => `| ${cells.join(' | ')} |`
  return [line(head), line(head.map(() => '---')), ...rows.map(line)].join('\n')
}

/** Text for a table cell: bars and angle brackets outside code spans are escaped. */
function prose(text: string): string {
  return text
    .split(/(`[^`]*`)/)
    .map((part, i) => (i % 2 === 1 ? part.replace(/\|/g, '\\|') : part.replace(/[|<>]/g, '\\$&')))
    .join('')
}

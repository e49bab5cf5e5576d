import { parse as parseYaml } from 'yaml'
import type { Across, StudyPlace, StudyValue } from '../model/gauge-study.js'
import { ProblemError } from '../model/problem.js'

/** A plan of scans still to be measured, or a table of values already taken. */
export type StudyPlan =
  | { readonly kind: 'scans'; readonly across: Across; readonly rows: readonly (StudyPlace & { file: string })[] }
  | {
      readonly kind: 'values'
      readonly across: Across
      /** Names of the value columns, as written. */
      readonly readings: readonly string[]
      readonly rows: readonly (StudyPlace & { values: Readonly<Record<string, number>> })[]
    }

/** One row before it is checked: where it stands in the file, and its cells by column. */
interface Row {
  readonly where: string
  readonly cells: ReadonlyMap<string, string>
}

const KEYS = ['part', 'operator', 'repeat'] as const
/** What the table may call the second factor. */
const ACROSS: readonly Across[] = ['operator', 'placement']

/**
 * Reads the plan of a gauge study. CSV: a heading `part,operator,repeat` and then `file`, or `value`, or any names of
 * readings, in any order; `placement` may stand for `operator`; cells may be quoted; lines that begin with `#`, blank
 * lines, CRLF and a byte-order mark are accepted. YAML (a file that ends in .yaml or .yml): a list of maps with the
 * same keys.
 * @param text the file's content
 * @param file its name: decides between CSV and YAML and stands in messages
 * @throws ProblemError STUDY_PLAN_INVALID naming the file, line, rule and value
 */
export function parseStudyPlan(text: string, file: string): StudyPlan {
  const rows = /\.ya?ml$/i.test(file) ? yamlRows(text, file) : csvRows(text, file)
  if (rows.length === 0) refuse(file, 'it holds no rows')
  const columns = [...rows[0]!.cells.keys()]
  const across = ACROSS.find(name => columns.includes(name)) ?? 'operator'
  if (ACROSS.every(name => columns.includes(name))) refuse(file, 'it has both operator and placement: keep one')
  const keys = KEYS.map(key => (key === 'operator' ? across : key))
  for (const key of keys) if (!columns.includes(key)) refuse(file, `it has no column "${key}"; it has ${list(columns)}`)
  const others = columns.filter(name => !(keys as readonly string[]).includes(name))
  const places = rows.map(row => placeOf(row, across, file))

  if (others.includes('file')) {
    if (others.length > 1)
      refuse(file, `it has both "file" and ${list(others.filter(name => name !== 'file'))}: give scans or values`)
    const seen = new Map<string, string>()
    return {
      kind: 'scans',
      across,
      rows: rows.map((row, i) => {
        const scan = cell(row, 'file', file)
        const before = seen.get(scan)
        if (before !== undefined)
          refuse(file, `${row.where} has the scan "${scan}" of ${before} again: a repeat is a new scan`)
        seen.set(scan, row.where)
        return { ...places[i]!, file: scan }
      }),
    }
  }
  if (others.length === 0) refuse(file, 'it has no column "file", "value" or a reading')
  return {
    kind: 'values',
    across,
    readings: others,
    rows: rows.map((row, i) => ({
      ...places[i]!,
      values: Object.fromEntries(others.map(name => [name, numberOf(row, name, file)])),
    })),
  }
}

/**
 * The plan that file names carry: `<positive>__<operator or placement>__<repeat>.<ext>`. The files keep their paths.
 * @throws ProblemError STUDY_PLAN_INVALID for a name that does not fit
 */
export function studyPlanFromFiles(files: readonly string[]): StudyPlan & { kind: 'scans' } {
  return {
    kind: 'scans',
    across: 'placement',
    rows: files.map(file => {
      const name = file.split(/[/\\]/).at(-1)!
      const pieces = name
        .replace(/\.[^.]*$/, '')
        .normalize('NFC')
        .split('__')
        .map(piece => piece.trim())
      const [part = '', operator = '', repeat = ''] = pieces
      if (pieces.length !== 3 || part === '' || operator === '')
        refuse(name, 'its name is not <positive>__<operator>__<repeat>.tif, parted by two underscores')
      return { part, operator, repeat: repeatOf(repeat, name, 'its name'), file }
    }),
  }
}

/**
 * The values of one reading, as `gaugeStudy` takes them.
 * @param reading a column's name; may be left out when there is one column only
 * @throws ProblemError STUDY_READING_UNKNOWN when there is no such column, or several and none was named
 */
export function studyValues(plan: StudyPlan & { kind: 'values' }, reading?: string): readonly StudyValue[] {
  const name = reading ?? (plan.readings.length === 1 ? plan.readings[0]! : undefined)
  if (name === undefined)
    throw new ProblemError('STUDY_READING_UNKNOWN', `named, and there are several: ${list(plan.readings)}`)
  if (!plan.readings.includes(name))
    throw new ProblemError('STUDY_READING_UNKNOWN', `"${name}"; it has ${list(plan.readings)}`)
  return plan.rows.map(({ part, operator, repeat, values }) => ({ part, operator, repeat, value: values[name]! }))
}

function placeOf(row: Row, across: Across, file: string): StudyPlace {
  return {
    part: cell(row, 'part', file),
    operator: cell(row, across, file),
    repeat: repeatOf(cell(row, 'repeat', file), file, row.where),
  }
}

function repeatOf(text: string, file: string, where: string): number {
  if (!/^[0-9]{1,6}$/.test(text) || Number(text) < 1)
    refuse(file, `${where} has the repeat "${text}"; it must be a whole number from 1`)
  return Number(text)
}

function cell(row: Row, column: string, file: string): string {
  const text = row.cells.get(column) ?? ''
  if (text === '') refuse(file, `${row.where} has no ${column}`)
  return text.normalize('NFC')
}

function numberOf(row: Row, column: string, file: string): number {
  const text = cell(row, column, file)
  if (!/^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(text))
    refuse(file, `${row.where} has the ${column} "${text}", not a number with a decimal point`)
  const value = Number(text)
  if (!Number.isFinite(value)) refuse(file, `${row.where} has the ${column} "${text}", too large a number`)
  return value
}

function csvRows(text: string, file: string): readonly Row[] {
  const lines = text.replace(/^\uFEFF/, '').split(/\r\n|\n|\r/)
  const rows: Row[] = []
  let heading: readonly string[] | null = null
  for (let n = 0; n < lines.length; n++) {
    const line = lines[n]!
    const where = `line ${n + 1}`
    if (line.trim() === '' || line.startsWith('#')) continue
    const cells = cellsOf(line, where, file)
    if (heading === null) {
      if (cells.length === 1 && /[;\t]/.test(line))
        refuse(file, `${where}: separate the columns with commas and write decimals with a point`)
      heading = headingOf(cells, where, file)
      continue
    }
    if (cells.length !== heading.length)
      refuse(file, `${where} has ${cells.length} cells where the heading has ${heading.length}: "${line.slice(0, 80)}"`)
    rows.push({ where, cells: new Map(heading.map((name, i) => [name, cells[i]!])) })
  }
  return rows
}

/** Column names: the fixed ones in any case, readings as they stand. */
function headingOf(cells: readonly string[], where: string, file: string): readonly string[] {
  const fixed: readonly string[] = [...KEYS, ...ACROSS, 'file', 'value']
  const names = cells.map(name => fixed.find(known => known === name.toLowerCase()) ?? name)
  for (const name of names) {
    if (name === '') refuse(file, `${where} has a column without a name`)
    if (names.filter(other => other === name).length > 1) refuse(file, `${where} has the column "${name}" twice`)
  }
  return names
}

/** The cells of one line; a quoted one may hold commas, and a quote by doubling it (RFC 4180). Trimmed. */
function cellsOf(line: string, where: string, file: string): readonly string[] {
  const cells: string[] = []
  let rest = line
  for (;;) {
    const quoted = /^\s*"((?:[^"]|"")*)"\s*(,|$)/.exec(rest)
    const found = quoted ?? /^([^,"]*)(,|$)/.exec(rest)
    if (found === null) refuse(file, `${where} has a quote that does not close: "${line.slice(0, 80)}"`)
    cells.push(found[1]!.replaceAll('""', '"').trim())
    rest = rest.slice(found[0].length)
    if (found[2] === '') return cells
  }
}

function yamlRows(text: string, file: string): readonly Row[] {
  let content: unknown
  try {
    content = parseYaml(text, { maxAliasCount: 0 })
  } catch (error) {
    refuse(file, `it is not YAML: ${(error as Error).message.split('\n')[0]}`)
  }
  if (!Array.isArray(content)) refuse(file, 'it must be a list, one entry a scan or value')
  const rows = (content as readonly unknown[]).map((entry, i): Row => {
    const where = `entry ${i + 1}`
    if (entry === null || typeof entry !== 'object' || Array.isArray(entry))
      refuse(file, `${where} must hold part, operator, repeat and file or values`)
    const pairs = Object.entries(entry as object).map(([name, value]): [string, string] => {
      if (typeof value !== 'string' && typeof value !== 'number')
        refuse(file, `${where} has a ${name} that is neither text nor a number`)
      return [name, String(value).trim()]
    })
    return { where, cells: new Map(pairs) }
  })
  const wanted = rows[0] === undefined ? '' : list([...rows[0].cells.keys()].sort())
  for (const row of rows) {
    const own = list([...row.cells.keys()].sort())
    if (own !== wanted) refuse(file, `${row.where} has the keys ${own} where the first has ${wanted}`)
  }
  return rows
}

function list(names: readonly string[]): string {
  return names.map(name => `"${name}"`).join(', ')
}

function refuse(file: string, why: string): never {
  throw new ProblemError('STUDY_PLAN_INVALID', `${file.split(/[/\\]/).at(-1)}: ${why}`)
}

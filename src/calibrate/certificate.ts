import { ProblemError } from '../model/problem.js'

/** One line of a tablet's certificate. */
export interface CertificateStep {
  /** 1 is the clearest. */
  readonly step: number
  /** Density, D above open light. */
  readonly density: number
  /** Expanded uncertainty of that density (k = 2), D. */
  readonly expanded: number
}

/** What is known of a step tablet: its own densities, step 1 the clearest. */
export interface Certificate {
  readonly name: string
  /** True when no one measured this tablet: the densities are the printed scale's nominal ones. */
  readonly nominal: boolean
  /** True when the file gave no uncertainties and `UNSTATED_EXPANDED` was taken. */
  readonly expandedAssumed: boolean
  readonly steps: readonly CertificateStep[]
}

/**
 * Expanded uncertainty taken when the file states none, D. A densitometer in shop use is commonly trusted to
 * +/- 0.02 D on silver or ink film (common practice, no source); a smaller number would be a claim nobody made.
 */
export const UNSTATED_EXPANDED = 0.02

/** Fewer than five steps cannot carry a curve of three constants; more than 60 is no tablet in use. */
const FEWEST_STEPS = 5
const MOST_STEPS = 60
/** No film or filter used as a tablet is deeper; a larger number is in another unit. */
const DEEPEST_DENSITY = 6
/** Ratios from step to step this even (standard deviation over mean) are those of light; densities grow by even differences. */
const EVEN_RATIO = 0.15

const NOMINAL = {
  'nominal-21': { count: 21, increment: 0.15 },
  'nominal-31': { count: 31, increment: 0.1 },
} as const

/** Names that stand for a tablet nobody measured. */
export type NominalName = keyof typeof NOMINAL

/** Whether a `--tablet` argument names a nominal tablet instead of a file. */
export function isNominalName(name: string): name is NominalName {
  return Object.hasOwn(NOMINAL, name)
}

/**
 * A tablet without a certificate: 0.05 D, then equal increments, U (k = 2) growing linearly from 0.03 D at the clear
 * end to 0.10 D at the dense end (the project's own figures: batches of printed scales vary by about that much;
 * common practice, no source).
 */
export function nominalCertificate(name: NominalName): Certificate {
  const { count, increment } = NOMINAL[name]
  const steps: CertificateStep[] = []
  for (let i = 0; i < count; i++)
    steps.push({
      step: i + 1,
      density: Math.round((0.05 + increment * i) * 1000) / 1000,
      expanded: 0.03 + (0.07 * i) / (count - 1),
    })
  return { name, nominal: true, expandedAssumed: false, steps }
}

/** What a heading may call a column. Small letters; `^d$` so that `id` is no density. */
const COLUMN = {
  step: /^(step|steps|stufe|feld|nr|no|number|nummer|patch|#|n|i)\b\.?/,
  density: /dens|dichte|^od\b|^d\b/,
  expanded: /^u\b|uncert|expand|unsicher|\u00b1|\+\/-/,
} as const
/** Headings that are another quantity than density. */
const OTHER_UNIT = /trans|percent|prozent|%|^t$|expos|belicht|\bstops?\b|\bev\b|opac|\blog\b|reflec|code|grey|gray/
const ONE_SIGMA = /standard|k ?= ?1\b|1 ?sigma|one sigma/

/** The text of a tablet file: UTF-8, or UTF-16 as spreadsheets write it; what is no text is refused. @throws ProblemError TABLET_CSV_INVALID */
export function certificateText(bytes: Uint8Array): string {
  const encoding =
    bytes[0] === 0xff && bytes[1] === 0xfe ? 'utf-16le' : bytes[0] === 0xfe && bytes[1] === 0xff ? 'utf-16be' : 'utf-8'
  const text = new TextDecoder(encoding).decode(bytes)
  if (text.includes('\0')) throw new ProblemError('TABLET_CSV_INVALID', 'it is no text file')
  return text
}

/**
 * Reads a tablet file: one line a step, `step,density[,expanded]`, lines in any order. Columns are parted by commas, semicolons or tabs; with
 * semicolons or tabs, or in quotes, decimals may be written with a comma. A heading may name the columns in any order, and further columns then are passed over.
 * `#` comments, blank lines, CRLF and a byte-order mark are accepted.
 * @param text the file's content
 * @param name what reports call this tablet
 * @throws ProblemError TABLET_CSV_EMPTY, TABLET_CSV_INVALID, TABLET_CSV_UNIT, TABLET_CSV_ORDER, TABLET_STEP_MISSING, TABLET_STEP_TWICE
 */
export function parseCertificate(text: string, name: string): Certificate {
  const lines = text
    .replace(/^\uFEFF/, '')
    .split(/\r\n|\n|\r/)
    .map((line, n) => ({ n, text: line.replace(/#.*$/, '').trim() }))
    .filter(line => line.text !== '')
  if (lines.length === 0) throw new ProblemError('TABLET_CSV_EMPTY')
  const separator = separatorOf(lines[0]!.text)
  const rows = lines.map(line => ({ n: line.n, text: line.text, cells: cellsOf(line.text, separator) }))
  const heading = /^[^0-9+-]*$/.test(rows[0]!.cells[0]!) && /\p{L}/u.test(rows[0]!.cells[0]!) ? rows.shift()! : null
  if (rows.length === 0) throw new ProblemError('TABLET_CSV_EMPTY', 'a heading and nothing below it')
  const columns = columnsOf(heading, rows[0]!, separator)
  const seen: (CertificateStep & { readonly line: number })[] = []
  for (const row of rows) seen.push({ ...stepOf(row, columns, separator), line: row.n + 1 })
  checkDecimalCommas(seen)
  const steps = inOrder(seen)
  if (!(steps.length >= FEWEST_STEPS && steps.length <= MOST_STEPS))
    throw new ProblemError('TABLET_CSV_INVALID', `${steps.length} steps; a tablet has ${FEWEST_STEPS} to ${MOST_STEPS}`)
  checkUnit(steps.map(step => step.density))
  checkDensities(steps)
  return { name, nominal: false, expandedAssumed: columns.expanded === null, steps }
}

type Separator = ',' | ';' | '\t'

interface Row {
  readonly n: number
  readonly text: string
  readonly cells: readonly string[]
}

interface Columns {
  readonly step: number
  readonly density: number
  readonly expanded: number | null
  readonly count: number
  /** Further columns are passed over: the heading named those that count. */
  readonly named: boolean
}

function refuse(lineIndex: number, why: string): never {
  throw new ProblemError('TABLET_CSV_INVALID', `line ${lineIndex + 1} ${why}`)
}

/** A line with semicolons or tabs is parted there, whatever commas stand in its numbers. */
function separatorOf(line: string): Separator {
  return line.includes(';') ? ';' : line.includes('\t') ? '\t' : ','
}

function cellsOf(line: string, separator: Separator): string[] {
  const cells: string[] = []
  let cell = ''
  let quoted = false
  for (const char of line) {
    if (char === '"') quoted = !quoted
    else if (char === separator && !quoted) {
      cells.push(cell.trim())
      cell = ''
    } else cell += char
  }
  cells.push(cell.trim())
  // Spreadsheets end lines with empty cells.
  while (cells.length > 2 && cells.at(-1) === '') cells.pop()
  return cells
}

function columnsOf(heading: Row | null, first: Row, separator: Separator): Columns {
  const plain: Columns = {
    step: 0,
    density: 1,
    expanded: first.cells.length >= 3 ? 2 : null,
    count: first.cells.length,
    named: false,
  }
  if (heading === null) {
    if (first.cells.length > 3)
      refuse(
        first.n,
        `has ${first.cells.length} columns instead of 2 or 3${separator === ',' ? '; write decimals with a point, or part the columns with semicolons' : ''}; further columns need a heading that names step, density and expanded: "${first.text}"`,
      )
    return plain
  }
  const names = heading.cells.map(cell => cell.toLowerCase())
  const all = (pattern: RegExp) => names.flatMap((cell, i) => (pattern.test(cell) ? [i] : []))
  const other = names.find(
    (cell, i) => OTHER_UNIT.test(cell) && (names.length <= 3 || i === 1) && !COLUMN.density.test(cell),
  )
  const densities = all(COLUMN.density).filter(i => !COLUMN.expanded.test(names[i]!))
  if (densities.length === 0 && other !== undefined)
    throw new ProblemError('TABLET_CSV_UNIT', `line ${heading.n + 1} says "${other}"`)
  if (densities.length > 1)
    refuse(
      heading.n,
      `names ${densities.length} columns of densities (${densities.map(i => heading.cells[i]).join(', ')}): keep the one for this scanner`,
    )
  const expanded = all(COLUMN.expanded)
  const sigma = expanded.find(i => ONE_SIGMA.test(names[i]!))
  if (sigma !== undefined)
    refuse(heading.n, `says "${heading.cells[sigma]}": give the expanded uncertainty (k = 2), twice the standard one`)
  const [step] = all(COLUMN.step)
  if (step !== undefined && densities.length === 1)
    return {
      step,
      density: densities[0]!,
      expanded: expanded[0] ?? null,
      count: names.length,
      named: true,
    }
  if (names.length > 3)
    refuse(heading.n, `has ${names.length} columns, and not one of them is called step and one density`)
  return plain
}

function stepOf(row: Row, columns: Columns, separator: Separator): CertificateStep {
  const { n, text, cells } = row
  if (cells.length < 2) refuse(n, `has one column; step and density are needed: "${text}"`)
  if (cells.some(cell => cell.includes('%')))
    throw new ProblemError('TABLET_CSV_UNIT', `line ${n + 1} holds percent values: "${text}"`)
  if (!columns.named && cells.length > 3)
    refuse(
      n,
      `has ${cells.length} columns instead of 2 or 3; write decimals with a point, or part the columns with semicolons: "${text}"`,
    )
  const step = numberIn(n, 'step number', cells[columns.step] ?? '', separator)
  if (!(Number.isInteger(step) && step >= 0))
    refuse(n, `has the step number ${step}: number them 1, 2, 3 from the clearest`)
  const density = numberIn(n, 'density', cells[columns.density] ?? '', separator)
  if (columns.expanded === null) {
    if (cells.length > columns.count)
      refuse(n, `has ${cells.length} columns where the lines before have ${columns.count}: "${text}"`)
    return { step, density, expanded: UNSTATED_EXPANDED }
  }
  const cell = cells[columns.expanded] ?? ''
  if (cell === '')
    refuse(n, `has no uncertainty for step ${step} where others have one: state it for every step, or for none`)
  const expanded = numberIn(n, 'uncertainty', cell, separator)
  if (!(expanded > 0 && expanded <= 1))
    refuse(
      n,
      separator === ',' && Number.isInteger(density) && expanded >= 0 && cell.length <= 2
        ? `looks like decimal commas: write decimals with a point, or part the columns with semicolons: "${text}"`
        : `has the uncertainty ${cell}; it must be above 0 and at most 1 D`,
    )
  return { step, density, expanded }
}

/** A number with a point, or with a comma where commas do not part the columns (a quoted cell may hold one there too). */
function numberIn(lineIndex: number, name: string, cell: string, separator: Separator): number {
  const text = /^[^.]*,[^.,]*$/.test(cell) ? cell.replace(',', '.') : cell
  if (!/^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(text))
    refuse(
      lineIndex,
      cell === ''
        ? `has no ${name}`
        : `has the ${name} "${cell}", not a number${separator === ';' && cell.includes('.') && cell.includes(',') ? ' that can be read one way only' : ''}`,
    )
  return Number(text)
}

/** `1,0,05` splits into three whole columns: whole densities that never pass 6 beside whole "uncertainties". */
function checkDecimalCommas(steps: readonly CertificateStep[]): void {
  if (steps.length >= FEWEST_STEPS && steps.every(s => Number.isInteger(s.density) && s.density <= DEEPEST_DENSITY))
    throw new ProblemError(
      'TABLET_CSV_INVALID',
      'looks like decimal commas: write decimals with a point, or part the columns with semicolons',
    )
}

/** The steps by number, which must be 1, 2, 3 ... with none missing and none twice. */
function inOrder(seen: readonly (CertificateStep & { readonly line: number })[]): CertificateStep[] {
  const sorted = [...seen].sort((a, b) => a.step - b.step || a.line - b.line)
  for (let i = 1; i < sorted.length; i++)
    if (sorted[i]!.step === sorted[i - 1]!.step)
      throw new ProblemError(
        'TABLET_STEP_TWICE',
        `step ${sorted[i]!.step} on line ${sorted[i - 1]!.line} and on line ${sorted[i]!.line}`,
      )
  const missing: number[] = []
  const last = sorted.at(-1)!.step
  const there = new Set(sorted.map(s => s.step))
  if (there.has(0)) refuse(sorted[0]!.line - 1, 'is step 0: number them 1, 2, 3 from the clearest')
  for (let step = 1; step < last && missing.length < 6; step++) if (!there.has(step)) missing.push(step)
  if (missing.length > 0)
    throw new ProblemError(
      'TABLET_STEP_MISSING',
      `${missing.length === 1 ? 'step' : 'steps'} ${missing.slice(0, 5).join(', ')}${missing.length > 5 ? ' and more' : ''} of 1 to ${last}`,
    )
  return sorted.map(({ step, density, expanded }) => ({ step, density, expanded }))
}

/** Refuses values that are no densities: light or percent falls by even ratios, logarithms of light are below 0, hundredths pass 6. */
function checkUnit(values: readonly number[]): void {
  const [first, last] = [values[0]!, values.at(-1)!]
  const said = `the values go from ${first} to ${last}`
  const unit = (what: string): never => {
    throw new ProblemError('TABLET_CSV_UNIT', `${said}, ${what}`)
  }
  const least = Math.min(...values)
  const most = Math.max(...values)
  if (values.filter(value => value < 0).length > values.length / 2)
    unit('below 0 as the logarithms of light or of exposure are')
  if (least >= 0 && values.filter(value => value > DEEPEST_DENSITY).length > values.length / 3) {
    if (last < first) unit('as percent of light does')
    const hundredths =
      most <= 100 * DEEPEST_DENSITY && values.every(Number.isInteger) && evenness(differences(values)) < 0.6
    unit(hundredths ? 'as densities times a hundred do' : `and no density passes ${DEEPEST_DENSITY}`)
  }
  const ratios = values.slice(1).map((value, i) => value / values[i]!)
  if (least > 0 && most <= 1 && values.length >= FEWEST_STEPS && evenness(ratios) < EVEN_RATIO) {
    const typical = ratios.reduce((sum, r) => sum + r, 0) / ratios.length
    if ((typical < 0.95 || typical > 1.1) && evenness(ratios) < evenness(differences(values)))
      unit('by even ratios as the share of light does')
  }
}

function differences(values: readonly number[]): number[] {
  return values.slice(1).map((value, i) => value - values[i]!)
}

/** Standard deviation over the size of the mean. */
function evenness(values: readonly number[]): number {
  const mean = values.reduce((sum, v) => sum + v, 0) / values.length
  return Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / values.length) / Math.abs(mean)
}

function checkDensities(steps: readonly CertificateStep[]): void {
  for (const { step, density } of steps)
    if (!(density >= 0 && density <= DEEPEST_DENSITY))
      throw new ProblemError(
        'TABLET_CSV_INVALID',
        `step ${step} has the density ${density}; it must be 0 to ${DEEPEST_DENSITY}`,
      )
  const falls = steps.filter((step, i) => i > 0 && step.density < steps[i - 1]!.density).length
  if (falls > (steps.length - 1) / 2)
    throw new ProblemError(
      'TABLET_CSV_ORDER',
      `step 1 has ${steps[0]!.density} and step ${steps.length} has ${steps.at(-1)!.density}, as if numbered from the dense end`,
    )
  for (let i = 1; i < steps.length; i++) {
    const { step, density } = steps[i]!
    if (!(density > steps[i - 1]!.density))
      throw new ProblemError(
        'TABLET_CSV_ORDER',
        `step ${step} has ${density}, not above the ${steps[i - 1]!.density} of step ${step - 1}`,
      )
  }
}

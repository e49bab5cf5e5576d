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
/** No film or filter used as a tablet is deeper; a larger number is a percent value. */
const DEEPEST_DENSITY = 6

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

/**
 * Reads a tablet file: one line a step, `step,density[,expanded]`, decimal points; an optional heading line, `#`
 * comments, blank lines, CRLF and a byte-order mark are accepted.
 * @param text the file's content
 * @param name what reports call this tablet
 * @throws ProblemError TABLET_CSV_INVALID naming the line, the rule and the value
 */
export function parseCertificate(text: string, name: string): Certificate {
  const steps: CertificateStep[] = []
  let columns = 0
  let headingSeen = false
  const lines = text.replace(/^\uFEFF/, '').split(/\r\n|\n|\r/)
  for (let n = 0; n < lines.length; n++) {
    const line = lines[n]!.replace(/#.*$/, '').trim()
    if (line === '') continue
    if (line.includes(';'))
      refuse(n, `holds a semicolon: separate the columns with commas and write decimals with a point: "${line}"`)
    if (line.includes('\t')) refuse(n, 'holds a tab: separate the columns with commas')
    const cells = line.split(',').map(cell =>
      cell
        .trim()
        .replace(/^"(.*)"$/, '$1')
        .trim(),
    )
    if (steps.length === 0 && !headingSeen && /^[a-z]/i.test(cells[0]!)) {
      headingSeen = true
      checkHeading(n, cells)
      continue
    }
    if (cells.some(cell => cell.includes('%')))
      refuse(n, `holds percent values: give densities, not transmittance: "${line}"`)
    if (columns === 0) columns = cells.length
    if (cells.length < 2 || cells.length > 3)
      refuse(
        n,
        cells.length > 3
          ? `has ${cells.length} columns instead of 2 or 3; write decimals with a point, not a comma: "${line}"`
          : `has one column; step and density are needed: "${line}"`,
      )
    if (cells.length !== columns)
      refuse(n, `has ${cells.length} columns where the first step has ${columns}: "${line}"`)
    const [step, density] = [numberIn(n, 'step', cells[0]!), numberIn(n, 'density', cells[1]!)]
    const expanded = cells.length === 3 ? numberIn(n, 'expanded', cells[2]!) : UNSTATED_EXPANDED
    if (step !== steps.length + 1)
      refuse(n, `is step ${step} where step ${steps.length + 1} should follow: number them 1, 2, 3 from the clearest`)
    if (!(expanded > 0 && expanded <= 1))
      refuse(
        n,
        cells.length === 3 && Number.isInteger(density) && expanded >= 0 && cells[2]!.length <= 2
          ? `looks like decimal commas: write decimals with a point: "${line}"`
          : `has the uncertainty ${cells[2]}; it must be above 0 and at most 1 D`,
      )
    steps.push({ step, density, expanded })
  }
  checkDecimalCommas(steps)
  checkDensities(steps)
  return { name, nominal: false, expandedAssumed: columns === 2, steps }
}

function refuse(lineIndex: number, why: string): never {
  throw new ProblemError('TABLET_CSV_INVALID', `line ${lineIndex + 1} ${why}`)
}

function checkHeading(lineIndex: number, cells: readonly string[]): void {
  const value = (cells[1] ?? '').toLowerCase()
  if (/trans|percent|%|^t$/.test(value))
    refuse(lineIndex, `says "${cells[1]}": give densities (D = -log10 T), not transmittance or percent`)
}

function numberIn(lineIndex: number, name: string, cell: string): number {
  if (!/^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(cell)) refuse(lineIndex, `has the ${name} "${cell}", not a number`)
  return Number(cell)
}

/** `1,0,05` splits into three whole columns: whole densities that never pass 6 beside whole "uncertainties". */
function checkDecimalCommas(steps: readonly CertificateStep[]): void {
  if (steps.length >= FEWEST_STEPS && steps.every(s => Number.isInteger(s.density) && Number.isInteger(s.expanded)))
    throw new ProblemError('TABLET_CSV_INVALID', 'looks like decimal commas: write decimals with a point')
}

function checkDensities(steps: readonly CertificateStep[]): void {
  if (!(steps.length >= FEWEST_STEPS && steps.length <= MOST_STEPS))
    throw new ProblemError('TABLET_CSV_INVALID', `${steps.length} steps; a tablet has ${FEWEST_STEPS} to ${MOST_STEPS}`)
  const first = steps[0]!.density
  const last = steps.at(-1)!.density
  if (last < first && first > DEEPEST_DENSITY)
    throw new ProblemError(
      'TABLET_CSV_INVALID',
      `the values fall from ${first} to ${last} as percent transmittance does`,
    )
  if (last < first && first <= 1)
    throw new ProblemError('TABLET_CSV_INVALID', `the values fall from ${first} to ${last} as transmittance does`)
  for (let i = 0; i < steps.length; i++) {
    const { step, density } = steps[i]!
    if (!(density >= 0 && density <= DEEPEST_DENSITY))
      throw new ProblemError(
        'TABLET_CSV_INVALID',
        `step ${step} has the density ${density}; it must be 0 to ${DEEPEST_DENSITY} (percent values are not densities)`,
      )
    if (i > 0 && !(density > steps[i - 1]!.density))
      throw new ProblemError(
        'TABLET_CSV_INVALID',
        `step ${step} has the density ${density}, not above ${steps[i - 1]!.density} of the step before`,
      )
  }
}

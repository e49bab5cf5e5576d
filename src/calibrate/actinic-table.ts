import { fitLine, predict } from '../imaging/fit-line.js'
import { ProblemError } from '../model/problem.js'

/** Paired readings of one ink: scanner density and what an ultraviolet densitometer says of the same place, D. */
export interface ActinicTable {
  /** Name of its file, without `.csv`. */
  readonly name: string
  readonly pairs: readonly { readonly scanner: number; readonly actinic: number }[]
}

const FEWEST_PAIRS = 5
const MOST_DENSITY = 8
/** A reading this far beyond the pairs is rounding, not extrapolation, D. */
const ROUNDING = 1e-9

/**
 * Reads paired readings: one line a pair, `scanner,actinic`, decimal points; a heading line, `#` comments, blank lines and CRLF are accepted.
 * @param file what it is called in messages; without `.csv` it is the table's name
 * @throws ProblemError ACTINIC_TABLE_INVALID naming file, line and rule: not two numbers of 0 to 8 D, fewer than 5 pairs, all of one scanner density, falling
 */
export function parseActinicTable(text: string, file: string): ActinicTable {
  const refuse = (why: string): never => {
    throw new ProblemError('ACTINIC_TABLE_INVALID', `${file}: ${why}`)
  }
  const pairs: { scanner: number; actinic: number }[] = []
  const lines = text.replace(/^\uFEFF/, '').split(/\r\n|\n|\r/)
  let begun = false
  for (let n = 0; n < lines.length; n++) {
    const line = lines[n]!.replace(/#.*$/, '').trim()
    if (line === '') continue
    const first = !begun
    begun = true
    if (first && /^"?scanner"?\s*,\s*"?actinic"?$/i.test(line)) continue
    const cells = line.split(',').map(cell => cell.trim())
    if (cells.length !== 2 || cells.some(cell => !/^[+-]?(\d+\.?\d*|\.\d+)$/.test(cell)))
      refuse(`line ${n + 1} is "${line}", not two numbers scanner,actinic with decimal points`)
    const [scanner, actinic] = cells.map(Number) as [number, number]
    for (const value of [scanner, actinic])
      if (!(value >= 0 && value <= MOST_DENSITY))
        refuse(`line ${n + 1} has the density ${value}; it must be 0 to ${MOST_DENSITY}`)
    pairs.push({ scanner, actinic })
  }
  if (!(pairs.length >= FEWEST_PAIRS)) refuse(`it holds ${pairs.length} pairs; at least ${FEWEST_PAIRS} are needed`)
  const range = rangeOf(pairs)
  if (!(range.most > range.least)) refuse(`all its pairs have the scanner density ${range.least}`)
  if (!(lineOf(pairs).slope > 0)) refuse('its actinic densities do not rise with the scanner densities')
  return { name: file.replace(/^.*[\\/]/, '').replace(/\.csv$/i, ''), pairs }
}

/** An estimate of what the lamp's ultraviolet sees, or why there is none. */
export type ActinicEstimate =
  | { readonly table: string; readonly pairs: number; readonly value: number; readonly expanded: number }
  | { readonly because: string }

/**
 * Actinic density of a scanner density: the least-squares line through the pairs. `expanded` joins the half of its 95 % prediction
 * interval (Student's t) with twice what the scanner density's own uncertainty makes of the slope.
 * Refuses to go beyond the pairs: no line is known there.
 * @param standard standard uncertainty of `density`, D, 0 or more
 */
export function actinicDensity(table: ActinicTable, density: number, standard: number): ActinicEstimate {
  if (!Number.isFinite(density)) throw new RangeError(`density must be finite; got ${density}`)
  if (!(standard >= 0 && Number.isFinite(standard))) throw new RangeError(`standard must be 0 or more; got ${standard}`)
  const { least, most } = rangeOf(table.pairs)
  if (!(density >= least - ROUNDING && density <= most + ROUNDING))
    return {
      because: `the scanner density ${density.toFixed(2)} lies outside the pairs of table ${table.name}, ${least.toFixed(2)} to ${most.toFixed(2)}`,
    }
  const line = lineOf(table.pairs)
  const { value, half } = predict(line, density)
  const expanded = Math.hypot(half, 2 * line.slope * standard)
  return { table: table.name, pairs: table.pairs.length, value, expanded }
}

function lineOf(pairs: ActinicTable['pairs']) {
  return fitLine(
    pairs.map(pair => pair.scanner),
    pairs.map(pair => pair.actinic),
  )
}

function rangeOf(pairs: ActinicTable['pairs']): { readonly least: number; readonly most: number } {
  const densities = pairs.map(pair => pair.scanner)
  return { least: Math.min(...densities), most: Math.max(...densities) }
}

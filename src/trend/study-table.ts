import type { StudyPlace, StudyValue } from '../model/gauge-study.js'
import { ProblemError } from '../model/problem.js'

/** Checked values of a study: `values[i][j]` are the repeats of part i by operator j, in the order of their numbers. */
export interface StudyTable {
  readonly parts: readonly string[]
  readonly operators: readonly string[]
  readonly values: readonly (readonly (readonly number[])[])[]
}

/** More levels than this are a mistake in the plan; it also bounds the work. */
const MOST_LEVELS = 200

const collator = new Intl.Collator('en', { numeric: true })
/** Names as people count them (2 before 10), always in the same order whatever order the rows came in. */
const byName = (a: string, b: string) => collator.compare(a, b) || (a < b ? -1 : a > b ? 1 : 0)

/**
 * Puts the values of a study into a table, checked: every part by every operator, equally often, finite, not all equal.
 * The order of the rows makes no difference.
 * @throws ProblemError as `studyLayout`, or STUDY_VALUE_INVALID or STUDY_NO_VARIATION
 */
export function studyTable(measurements: readonly StudyValue[]): StudyTable {
  for (const measurement of measurements)
    if (!Number.isFinite(measurement.value))
      throw new ProblemError(
        'STUDY_VALUE_INVALID',
        `${whole(measurement)}: the value must be a finite number, not ${measurement.value}`,
      )
  const { parts, operators, cells } = studyLayout(measurements)
  const values = cells.map(row => row.map(cell => cell.map(measurement => measurement.value)))
  const first = values[0]![0]![0]!
  if (values.every(row => row.every(cell => cell.every(value => value === first))))
    throw new ProblemError('STUDY_NO_VARIATION', `${measurements.length} times ${first}`)
  return { parts, operators, values }
}

/**
 * Sorts the rows of a study, or of a plan before anything is measured, by part, operator and repeat, and checks that
 * they are crossed and balanced.
 * @returns `cells[i][j]`: the rows of part i by operator j, by repeat
 * @throws ProblemError STUDY_VALUE_INVALID, STUDY_VALUE_TWICE, STUDY_TOO_FEW, STUDY_TOO_LARGE, STUDY_VALUE_MISSING or
 *   STUDY_UNBALANCED, naming part and operator
 */
export function studyLayout<Row extends StudyPlace>(
  rows: readonly Row[],
): {
  readonly parts: readonly string[]
  readonly operators: readonly string[]
  readonly cells: readonly (readonly (readonly Row[])[])[]
} {
  const found = new Map<string, Map<number, Row>>()
  const key = (part: string, operator: string) => JSON.stringify([part, operator])
  for (const row of rows) {
    const { part, operator, repeat } = row
    if (part === '' || operator === '')
      throw new ProblemError('STUDY_VALUE_INVALID', `${whole(row)}: part and operator must have names`)
    if (!(Number.isInteger(repeat) && repeat >= 1))
      throw new ProblemError('STUDY_VALUE_INVALID', `${whole(row)}: the repeat must be a whole number from 1`)
    const cell = found.get(key(part, operator)) ?? new Map<number, Row>()
    if (cell.has(repeat)) throw new ProblemError('STUDY_VALUE_TWICE', whole(row))
    found.set(key(part, operator), cell.set(repeat, row))
  }
  const parts = [...new Set(rows.map(row => row.part))].sort(byName)
  const operators = [...new Set(rows.map(row => row.operator))].sort(byName)
  const sizes = [...found.values()].map(cell => cell.size)
  const most = sizes.reduce((a, b) => Math.max(a, b), 0)
  if (!(parts.length >= 2)) throw new ProblemError('STUDY_TOO_FEW', `parts: ${parts.length}`)
  if (!(most >= 2)) throw new ProblemError('STUDY_TOO_FEW', `repeats of each part by each operator: ${most}`)
  for (const [name, count] of [
    ['parts', parts.length],
    ['operators or placements', operators.length],
    ['repeats', most],
  ] as const)
    if (!(count <= MOST_LEVELS)) throw new ProblemError('STUDY_TOO_LARGE', `${name}: ${count}`)
  const cells = parts.map(part =>
    operators.map(operator => {
      const cell = found.get(key(part, operator))
      if (cell === undefined) throw new ProblemError('STUDY_VALUE_MISSING', `${place(part, operator)}: no value`)
      return [...cell].sort(([a], [b]) => a - b).map(([, row]) => row)
    }),
  )
  const flat = cells.flat()
  const short = flat.find(cell => cell.length < most)
  if (short !== undefined) {
    const full = flat.find(cell => cell.length === most)!
    const told = (cell: readonly Row[]) => `${place(cell[0]!.part, cell[0]!.operator)}: ${cell.length}`
    throw new ProblemError('STUDY_UNBALANCED', `${told(full)}; ${told(short)}`)
  }
  return { parts, operators, cells }
}

function place(part: string, operator: string): string {
  return `part "${part}" by "${operator}"`
}

function whole({ part, operator, repeat }: StudyPlace): string {
  return `${place(part, operator)}, repeat ${repeat}`
}

import { type ActinicTable, actinicDensity } from '../calibrate/actinic-table.js'
import type { Inspection } from '../model/inspection.js'
import type { MeasuredScan } from '../model/measured.js'
import { ProblemError } from '../model/problem.js'
import type { ActinicShelf } from './load-actinic-tables.js'

/** Table for films whose sidecar names no stock, or one without a table of its own. */
const DEFAULT_TABLE = 'default'

/** The table that belongs to a film: the one named as its stock, else `default`; null for none. */
export function actinicTableOf(
  shelf: ActinicShelf | undefined,
  stock: string | undefined,
): ActinicTable | ProblemError | null {
  return (stock === undefined ? undefined : shelf?.get(stock)) ?? shelf?.get(DEFAULT_TABLE) ?? null
}

/** The second, estimated density of a film's solids; when there is a table but no estimate, a note says why. */
export function estimateActinic(
  table: ActinicTable | ProblemError | null,
  measured: Pick<MeasuredScan, 'response' | 'readings'>,
): { readonly actinic: NonNullable<Inspection['actinic']> | null; readonly notes: readonly string[] } {
  const none = (because: string) => ({ actinic: null, notes: [`No actinic density was estimated: ${because}.`] })
  if (table === null) return { actinic: null, notes: [] }
  if (table instanceof ProblemError) return none(`${table.problem.what}; ${table.problem.next}`)
  const solid = measured.readings.solidDensity
  if (measured.response === 'unknown') return none('the scanner has no calibration')
  if (solid === undefined) return none('no solid was measured')
  if (solid.bound !== null) return none('the solid density is a bound and not a number')
  const seen = actinicDensity(table, solid.value, solid.expanded / 2)
  if ('because' in seen) return none(seen.because)
  const { value, expanded, pairs } = seen
  return { actinic: { table: seen.table, pairs, solidDensity: { value, expanded } }, notes: [] }
}

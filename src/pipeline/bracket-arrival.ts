import type { ScanArrival } from '../model/arrival.js'
import { ProblemError } from '../model/problem.js'
import type { Sidecar } from '../model/site.js'

/** May differ from scan to scan; the first one's counts. */
const EACH_ITS_OWN: ReadonlySet<string> = new Set(['scannedAt', 'bracket', 'note'])

/**
 * The scans of a bracket in one fixed order, that of their names, with what their sidecars say together: the same
 * answer whatever order they were given in. A single scan is handed back as it is.
 * @throws ProblemError BRACKET_FILMS_DIFFER when the sidecars name different positives; SIDECAR_INVALID when they differ otherwise
 */
export function bracketArrival(arrival: ScanArrival): ScanArrival {
  const further = arrival.bracket ?? []
  if (further.length === 0) return arrival
  const { file, name, fileTime, sidecar } = arrival
  const all = [{ file, name, fileTime, sidecar }, ...further].sort(
    (a, b) => a.name.localeCompare(b.name, 'en', { numeric: true }) || (a.file < b.file ? -1 : 1),
  )
  const told = all.flatMap(scan => (scan.sidecar ? [{ name: scan.name, ...scan.sidecar }] : []))
  const facts: Record<string, unknown> = {}
  const from: Record<string, string> = {}
  for (const { name, facts: own } of told)
    for (const [key, value] of Object.entries(own)) {
      if (key in facts && facts[key] !== value && !EACH_ITS_OWN.has(key))
        throw new ProblemError(
          key === 'positive' ? 'BRACKET_FILMS_DIFFER' : 'SIDECAR_INVALID',
          `the sidecars of ${from[key]} and ${name} name ${key} "${String(facts[key])}" and "${String(value)}"`,
        )
      if (key in facts) continue
      facts[key] = value
      from[key] = name
    }
  const lead = all[0]!
  return {
    ...arrival,
    file: lead.file,
    name: lead.name,
    fileTime: lead.fileTime,
    sidecar: told.length === 0 ? null : { text: told.map(({ text }) => text).join('\n---\n'), facts: facts as Sidecar },
    // What was read once is not read again: doing this twice must change nothing.
    bracket: all.slice(1).map(({ file, name, fileTime }) => ({ file, name, fileTime })),
  }
}

import type { ApartReason, BaselineRef } from '../model/growth.js'
import type { Inspection } from '../model/inspection.js'
import type { Doubt } from '../model/measured.js'

/** What is asked: where a scan stands among the inspections of its positive. */
export interface BaselineQuestion {
  /** Content of the scan and when it was made. */
  readonly sha256: string
  readonly scannedAt: string
  /** The positive was printed anew before this scan: growth begins again. */
  readonly reprint: boolean
  /** Every inspection of the positive there is, in any order. */
  readonly history: readonly Inspection[]
  readonly now: Date
}

export type BaselineChoice =
  /** Growth counts from this scan. */
  | { readonly kind: 'baseline'; readonly reprint: boolean }
  /** `older`: the scan is older than the baseline, and takes its place if it shows the same film. */
  | { readonly kind: 'compare'; readonly baseline: Inspection; readonly older?: true }
  | {
      readonly kind: 'apart'
      readonly because: ApartReason
      readonly baseline: BaselineRef | null
      readonly doubt: Doubt
    }

/** Times without a zone may be this far off the clock; no place on earth is further from another's. */
const ZONES_MS = 26 * 3_600_000

/**
 * What a scan is compared with: the newest baseline of its positive that is no later than the scan itself. A baseline is the first scan of a
 * positive, or one that was declared a reprint; records of versions that knew no growth begin with their oldest. A scan older than all of them
 * takes the place of the first one, once it is seen to be the same film: scans inspected after it are compared with it, records that are written
 * keep the baseline they had. A scan inspected again (a new calibration, another job type) stands where it stood. Dates that cannot be, and the same
 * file under another date, are told apart instead of making growth of them.
 */
export function chooseBaseline(question: BaselineQuestion): BaselineChoice {
  const { sha256, scannedAt, reprint, history, now } = question
  const at = Date.parse(scannedAt)
  const baselines = baselinesOf(history)
  const newest = baselines.filter(b => b.scan.sha256 !== sha256).at(-1) ?? null
  if (!(at <= now.getTime() + ZONES_MS))
    return apart('futureScan', newest, {
      why: `This scan says it was made on ${day(scannedAt)}, which is still to come.`,
      next: 'set the clock of the scanning computer, or give the right `scannedAt` in a sidecar, and inspect the scan again',
    })
  const same = history.filter(inspection => inspection.scan.sha256 === sha256)
  const again = same.filter(inspection => Date.parse(inspection.scannedAt) === at)
  // What stands apart, or was dated before all others, may have been dated wrongly: it may come again under the right date.
  const other = same.find(
    ({ scannedAt, standing }) =>
      Date.parse(scannedAt) !== at && standing?.kind !== 'apart' && standing?.kind !== 'earliest',
  )
  if (again.length === 0 && other !== undefined)
    return apart('sameScan', newest ?? other, {
      why: `This is the very file that was inspected as the scan of ${day(other.scannedAt)}: it is no new look at the film.`,
      next: 'scan the film again; if only the date was wrong, give the right `scannedAt` in a sidecar',
    })
  if (reprint) return { kind: 'baseline', reprint: true }
  const standing = again.at(-1)?.standing
  const own = baselines.some(b => b.scan.sha256 === sha256)
  if (standing?.kind === 'baseline' && own) return { kind: 'baseline', reprint: standing.reprint }
  // Asked again it is the same question: held against the film whose place it took.
  const before = standing?.kind === 'earliest' ? history.find(one => one.id === standing.before.id) : undefined
  if (before !== undefined) return { kind: 'compare', baseline: before, older: true }
  const others = baselinesOf(history.filter(inspection => inspection.scan.sha256 !== sha256))
  const baseline = others.filter(b => Date.parse(b.scannedAt) <= at).at(-1)
  if (baseline !== undefined) return { kind: 'compare', baseline }
  const first = others[0]
  if (first === undefined || own) return { kind: 'baseline', reprint: false }
  return { kind: 'compare', baseline: first, older: true }
}

/**
 * The inspections that growth counts from, oldest first; of one scan inspected twice the newer record. An older scan that came later stands in the
 * place of every baseline after it up to the first reprint.
 */
function baselinesOf(history: readonly Inspection[]): Inspection[] {
  const sorted = [...history].sort(
    (a, b) =>
      Date.parse(a.scannedAt) - Date.parse(b.scannedAt) || Date.parse(a.inspectedAt) - Date.parse(b.inspectedAt),
  )
  const newest = new Map<string, Inspection>()
  for (const inspection of [...history].sort((a, b) => Date.parse(a.inspectedAt) - Date.parse(b.inspectedAt)))
    newest.set(inspection.scan.sha256, inspection)
  const told = sorted.filter(
    ({ id, scan, standing }) =>
      standing?.kind === 'baseline' || (standing?.kind === 'earliest' && newest.get(scan.sha256)?.id === id),
  )
  const old = sorted.find(inspection => inspection.standing === undefined)
  const all = old === undefined ? told : [old, ...told.filter(b => b.scan.sha256 !== old.scan.sha256)]
  const byScan = new Map(all.map(inspection => [inspection.scan.sha256, inspection]))
  const ordered = [...byScan.values()].sort((a, b) => Date.parse(a.scannedAt) - Date.parse(b.scannedAt))
  const earliest = ordered.findIndex(({ standing }) => standing?.kind === 'earliest')
  const isReprint = ({ standing }: Inspection) => standing?.kind === 'baseline' && standing.reprint
  return earliest < 0 ? ordered : ordered.filter((one, i) => i === earliest || i < earliest || isReprint(one))
}

function apart(
  because: ApartReason,
  baseline: BaselineRef | null,
  words: { readonly why: string; readonly next: string },
): BaselineChoice {
  return {
    kind: 'apart',
    because,
    baseline: baseline === null ? null : { id: baseline.id, scannedAt: baseline.scannedAt },
    doubt: { code: because, ...words },
  }
}

function day(iso: string): string {
  return iso.slice(0, 10)
}

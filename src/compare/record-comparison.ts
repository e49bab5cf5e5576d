import type { BaselineRef, Comparison, Growth, GrowthReadingName, Standing } from '../model/growth.js'
import { GROWTH_READINGS } from '../model/growth.js'
import type { Doubt } from '../model/measured.js'
import type { NotMeasured, Reading } from '../model/reading.js'
import type { BaselineChoice } from './choose-baseline.js'

/** What a comparison adds to the record and to what is judged. */
export interface RecordedComparison {
  readonly growth: Growth | null
  readonly standing: Standing
  readonly readings: Readonly<Partial<Record<GrowthReadingName, Reading>>>
  readonly notMeasured: readonly NotMeasured[]
  readonly doubts: readonly Doubt[]
  readonly notes: readonly string[]
}

const DAY_MS = 86_400_000

/** A scan that was not compared: it begins, or it stands apart. */
export function recordUncompared(choice: Exclude<BaselineChoice, { kind: 'compare' }>): RecordedComparison {
  if (choice.kind === 'baseline') {
    return {
      growth: null,
      standing: { kind: 'baseline', reprint: choice.reprint },
      readings: {},
      notMeasured: GROWTH_READINGS.map(reading => ({
        reading,
        notAsked: true as const,
        because: 'this is the scan that growth is counted from',
        next: 'scan the same positive again later',
      })),
      doubts: [],
      notes: choice.reprint ? ['The positive was declared printed anew: growth is counted from this scan.'] : [],
    }
  }
  const { because, baseline, doubt } = choice
  return {
    growth: null,
    standing: { kind: 'apart', baseline, because },
    readings: {},
    notMeasured: GROWTH_READINGS.map(reading => ({
      reading,
      because: doubt.why.charAt(0).toLowerCase() + doubt.why.slice(1),
      next: doubt.next,
    })),
    doubts: [doubt],
    notes: [],
  }
}

/**
 * A scan that is older than the first one known. The same film: it takes that one's place, which a reader must know of, for a wrong clock looks
 * alike. Edges that were wider then than on the later scan are not believed, since ink does not creep back.
 */
export function recordOlder(comparison: Comparison, baseline: BaselineRef, scannedAt: string): RecordedComparison {
  if (comparison.outcome !== 'compared') return recordComparison(comparison, baseline, scannedAt, [])
  const before = { id: baseline.id, scannedAt: baseline.scannedAt }
  const days = `This scan says it was made on ${scannedAt.slice(0, 10)}, before the first scan of this positive that was known, of ${before.scannedAt.slice(0, 10)}`
  const edge = comparison.readings.edgeGrowth
  if (edge !== undefined && edge.value > edge.expanded)
    return recordUncompared({
      kind: 'apart',
      because: 'beforeBaseline',
      baseline: before,
      doubt: {
        code: 'beforeBaseline',
        why: `${days}; but its edges are ${edge.value.toFixed(1)} um wider, and ink does not creep back.`,
        next: 'give the right `scannedAt` in a sidecar and inspect it again; if it is of an older print of the positive, nothing needs to be done',
      },
    })
  const first = recordUncompared({ kind: 'baseline', reprint: false })
  return {
    ...first,
    standing: { kind: 'earliest', before },
    doubts: [
      {
        code: 'earliest',
        why: `${days}. It is the same film, so growth is counted from this scan from now on.`,
        next: 'if the date is right, inspect the later scans again (drop them once more), so that their growth counts from it too; if not, give the right `scannedAt` in a sidecar and inspect this one again',
      },
    ],
  }
}

/** The archived scan of the baseline is gone. */
export function recordLost(baseline: BaselineRef, file: string): RecordedComparison {
  return recordUncompared({
    kind: 'apart',
    because: 'baselineLost',
    baseline,
    doubt: {
      code: 'baselineLost',
      why: `The first scan of this positive, of ${baseline.scannedAt.slice(0, 10)}, is not in the archive any more (${file}), so there is nothing to compare with.`,
      next: 'bring the file back from a backup, or say `reprint: true` in a sidecar to count growth from this scan on',
    },
  })
}

/** The archived scan of the baseline is another file than the one that was measured. */
export function recordChanged(baseline: BaselineRef, file: string): RecordedComparison {
  return recordUncompared({
    kind: 'apart',
    because: 'baselineChanged',
    baseline,
    doubt: {
      code: 'baselineChanged',
      why: `The archived file of the first scan of this positive, of ${baseline.scannedAt.slice(0, 10)}, is not what was measured then (baseline file changed: ${file}), so nothing is compared with it.`,
      next: 'bring the file back from a backup and have the disk looked at, or say `reprint: true` in a sidecar to count growth from this scan on',
    },
  })
}

/**
 * A comparison as the record keeps it and the limits judge it.
 * @param remarks sentences about how the baseline was measured again
 */
export function recordComparison(
  comparison: Comparison,
  baseline: BaselineRef,
  scannedAt: string,
  remarks: readonly string[],
): RecordedComparison {
  const ref = { id: baseline.id, scannedAt: baseline.scannedAt }
  if (comparison.outcome === 'notSameFilm')
    return recordUncompared({
      kind: 'apart',
      because: 'notSameFilm',
      baseline: ref,
      doubt: {
        code: 'notSameFilm',
        why: `This is not the same film as the first scan of this positive, of ${ref.scannedAt.slice(0, 10)}. ${comparison.why}`,
        next: 'look at the film and its name: scan the right film, or name this one rightly; if the artwork of the positive was changed, say `reprint: true` in a sidecar',
      },
    })
  if (comparison.outcome === 'notCompared')
    return recordUncompared({
      kind: 'apart',
      because: 'notCompared',
      baseline: ref,
      doubt: { code: 'notCompared', why: comparison.why, next: comparison.next },
    })
  const { readings, notMeasured, placement, looksReprinted } = comparison
  const { spreadGrowth, ...judged } = readings
  const notes = [...remarks, ...comparison.notes]
  if (looksReprinted)
    notes.push(
      'The strokes are thinner than on the first scan of this positive, and ink does not creep back: this looks like a new print. If it is, say `reprint: true` in a sidecar, and growth is counted from this scan.',
    )
  const days = Math.round((100 * (Date.parse(scannedAt) - Date.parse(ref.scannedAt))) / DAY_MS) / 100
  return {
    growth: {
      baseline: ref,
      days,
      ...judged,
      ...(spreadGrowth === undefined ? {} : { spreadGrowth }),
      ...(comparison.flaws === undefined || comparison.flaws === null ? {} : { flaws: comparison.flaws }),
      forecast: null,
      placement,
      notes,
    },
    standing: { kind: 'compared', baseline: ref },
    readings: judged,
    notMeasured,
    doubts: [],
    notes,
  }
}

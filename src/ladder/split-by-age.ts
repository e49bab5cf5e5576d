/** Scans this far apart are two readings of a ladder, not repeats of one: younger growth is hardly beyond its own uncertainty. */
export const FEWEST_DAYS = 7
const DAY_MS = 86_400_000

/**
 * The newest reading of a combination, and the oldest where it lies a week or more before it. Scans between count to the one that they follow
 * within a week.
 * @param samples one or more, in any order
 */
export function splitByAge<T extends { readonly scannedAt: string }>(
  samples: readonly T[],
): { readonly newest: readonly T[]; readonly oldest: readonly T[] | null; readonly days: number } {
  const sorted = [...samples].sort((a, b) => Date.parse(a.scannedAt) - Date.parse(b.scannedAt))
  const readings: T[][] = []
  for (const sample of sorted) {
    const last = readings.at(-1)
    const before = last?.at(-1)
    if (last !== undefined && before !== undefined && daysBetween(before.scannedAt, sample.scannedAt) < FEWEST_DAYS)
      last.push(sample)
    else readings.push([sample])
  }
  const newest = readings.at(-1) ?? []
  const [oldest] = readings
  if (oldest === undefined || oldest === newest) return { newest, oldest: null, days: 0 }
  return { newest, oldest, days: daysBetween(oldest[0]!.scannedAt, newest[0]!.scannedAt) }
}

export function daysBetween(before: string, after: string): number {
  return (Date.parse(after) - Date.parse(before)) / DAY_MS
}

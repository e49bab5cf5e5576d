import type { Inspection } from '../model/inspection.js'
import type { ReadingName } from '../model/reading.js'
import type { FilmUse, UsedReading, UseHistory } from '../model/use.js'
import { growthByUses } from './growth-by-uses.js'
import { usesBetween } from './uses-between.js'

/** What use may do to a film: its edges run, its ink thins, its flaws grow in number. Only these are set against use. */
const SET_AGAINST: readonly ReadingName[] = ['edgeGrowth', 'densityLoss', 'scratchCount', 'pinholeCount']
/** Of these the first scan is 0 by what they are. */
const FROM_ZERO: readonly ReadingName[] = ['edgeGrowth', 'densityLoss']

/**
 * The uses of a positive's present print set against what its scans read; null when nobody ever counted a use of it.
 * @param inspections oldest first
 */
export function useHistory(inspections: readonly Inspection[], uses: readonly FilmUse[]): UseHistory | null {
  const [first] = uses
  if (first === undefined) return null
  const reprint = inspections.filter(one => one.standing?.kind === 'baseline' && one.standing.reprint).at(-1)
  const since = reprint?.scannedAt ?? null
  const print = inspections.filter(
    one => one.standing?.kind !== 'apart' && (since === null || Date.parse(one.scannedAt) >= Date.parse(since)),
  )
  return {
    count: usesBetween(uses, since, null),
    since,
    last: uses.reduce((last, { at }) => (Date.parse(at) > Date.parse(last) ? at : last), first.at),
    readings: SET_AGAINST.flatMap(name => usedReading(name, print, uses, since)),
  }
}

function usedReading(
  name: ReadingName,
  inspections: readonly Inspection[],
  uses: readonly FilmUse[],
  since: string | null,
): UsedReading[] {
  const newest = inspections.at(-1)
  const read = inspections.flatMap(one => {
    const reading = one.readings[name]
    return reading === undefined || reading.bound !== null
      ? []
      : [{ one, reading, uses: usesBetween(uses, since, one.scannedAt) }]
  })
  if (read.length < 2 || new Set(read.map(point => point.uses)).size < 2) return []
  const samples = read.flatMap(({ one: { growth }, reading: { value, expanded }, uses: upTo }) =>
    growth === null
      ? []
      : [
          {
            days: growth.days,
            uses: upTo - usesBetween(uses, since, growth.baseline.scannedAt),
            value,
            standard: expanded / 2,
          },
        ],
  )
  return [
    {
      reading: name,
      points: read.map(({ one, reading: { value, expanded }, uses: upTo }) => ({
        uses: upTo,
        value,
        expanded,
        newest: one.id === newest?.id,
      })),
      growth: FROM_ZERO.includes(name) ? growthByUses(samples) : null,
    },
  ]
}

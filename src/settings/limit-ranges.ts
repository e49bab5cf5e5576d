import { type LimitName, READINGS, SET_READINGS, type Unit } from '../model/reading.js'

/** What a limit on a reading can be at all. */
export interface LimitRange {
  readonly unit: Unit
  readonly lowest: number
  readonly highest: number
  readonly whole: boolean
}

/**
 * The widest values a unit allows on film: no flatbed or densitometer reads past 6 D, no length on a page passes 10 m,
 * no page 100 m2. Only there to catch a slipped decimal point or the wrong unit; common practice, no source.
 */
const RANGES: Readonly<Record<Unit, Omit<LimitRange, 'unit'>>> = {
  D: { lowest: 0, highest: 6, whole: false },
  um: { lowest: 0, highest: 100_000, whole: false },
  mm: { lowest: 0, highest: 10_000, whole: false },
  mm2: { lowest: 0, highest: 1e8, whole: false },
  '%': { lowest: 0, highest: 100, whole: false },
  'lines/in': { lowest: 1, highest: 1000, whole: false },
  degrees: { lowest: 0, highest: 180, whole: false },
  count: { lowest: 0, highest: 1_000_000, whole: true },
}

/** Readings that may be either side of zero: a line may lose width, a tint may print light, a film may shrink. */
const SIGNED: readonly LimitName[] = ['toneValueError', 'lineGain', 'sizeErrorAcross', 'sizeErrorFeed']

/** Every name a limit may have, in the order of the reading table. */
export const LIMIT_NAMES: readonly LimitName[] = [
  ...(Object.keys(READINGS) as LimitName[]),
  ...(Object.keys(SET_READINGS) as LimitName[]),
]

/** The unit of a reading and the values a limit on it may take. */
export function limitRange(name: LimitName): LimitRange {
  const unit: Unit =
    name in READINGS ? READINGS[name as keyof typeof READINGS].unit : SET_READINGS[name as keyof typeof SET_READINGS]
  const range = RANGES[unit]
  return { unit, ...range, lowest: SIGNED.includes(name) ? -range.highest : range.lowest }
}

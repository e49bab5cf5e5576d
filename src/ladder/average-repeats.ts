import { studentT95 } from '../imaging/student-t.js'
import type { LadderReadings, LadderSample } from '../model/ladder.js'
import type { LimitName, NotMeasured, Reading } from '../model/reading.js'

/** The repeats of one combination as one. */
export interface AveragedRepeats {
  readonly readings: LadderReadings
  readonly notMeasured: readonly NotMeasured[]
  /** Standard deviation between repeats, unit of the reading; empty for a single print, and for bounds. */
  readonly spread: Readonly<Partial<Record<LimitName, number>>>
}

/** The contract's factor. */
const USUAL_FACTOR = 2

/**
 * Mean of each reading over the prints of one combination. Its uncertainty holds what the prints share (the calibration:
 * the rms of their own standard uncertainties, which no number of prints brings down) and their scatter over the root of
 * their number (JCGM 100:2008, 4.2.3), k = 2 or Student's t where few prints ask for more. A bound makes the mean a bound;
 * bounds of both kinds tell nothing together. A reading that one print lacks is not measured.
 * @param samples one or more of the same combination
 */
export function averageRepeats(
  samples: readonly Pick<LadderSample, 'file' | 'readings' | 'notMeasured'>[],
): AveragedRepeats {
  const [first] = samples
  if (first === undefined) throw new RangeError('at least one print is needed')
  if (samples.length === 1) return { readings: first.readings, notMeasured: first.notMeasured, spread: {} }
  const readings: Partial<Record<LimitName, Reading>> = {}
  const spread: Partial<Record<LimitName, number>> = {}
  const notMeasured = new Map<LimitName, NotMeasured>()
  const names = new Set(samples.flatMap(sample => Object.keys(sample.readings) as LimitName[]))
  for (const sample of samples) for (const missing of sample.notMeasured) notMeasured.set(missing.reading, missing)
  for (const name of names) {
    const found = samples.flatMap(sample => sample.readings[name] ?? [])
    if (found.length < samples.length) {
      const lacking = samples.find(sample => sample.readings[name] === undefined)!
      const because = lacking.notMeasured.find(missing => missing.reading === name)?.because
      notMeasured.set(name, {
        reading: name,
        because: `${samples.length - found.length} of ${samples.length} prints lack it, the first ${lacking.file}${because === undefined ? '' : `: ${because}`}`,
        next: 'scan that print again',
      })
      continue
    }
    notMeasured.delete(name)
    const bounds = new Set(found.map(reading => reading.bound).filter(bound => bound !== null))
    if (bounds.size > 1) {
      notMeasured.set(name, {
        reading: name,
        because: 'some prints read at least, others at most',
        next: 'scan all prints at one setting of the scanner',
      })
      continue
    }
    const [bound] = bounds
    readings[name] = bound === undefined ? meanOf(found) : boundOf(found, bound)
    if (bound === undefined) spread[name] = deviation(found.map(reading => reading.value))
  }
  return { readings, notMeasured: [...notMeasured.values()], spread }
}

function meanOf(found: readonly Reading[]): Reading {
  const n = found.length
  const shared = Math.sqrt(found.reduce((sum, r) => sum + standardOf(r) ** 2, 0) / n)
  const scatter = deviation(found.map(reading => reading.value)) / Math.sqrt(n)
  const standard = Math.hypot(shared, scatter)
  const freedom = scatter > 0 ? ((n - 1) * standard ** 4) / scatter ** 4 : Number.POSITIVE_INFINITY
  const coverageFactor = Math.max(USUAL_FACTOR, studentT95(Math.max(1, freedom)))
  return {
    ...found[0]!,
    value: mean(found.map(reading => reading.value)),
    expanded: coverageFactor * standard,
    standard,
    degreesOfFreedom: Number.isFinite(freedom) ? freedom : null,
    coverageFactor,
    n: found.reduce((sum, reading) => sum + reading.n, 0),
    parts: [],
    budget: [],
  }
}

/** What is surely so of each print, averaged. */
function boundOf(found: readonly Reading[], bound: NonNullable<Reading['bound']>): Reading {
  const side = bound === 'atLeast' ? -1 : 1
  return {
    ...found[0]!,
    value: mean(found.map(r => (r.bound === null ? r.value + side * r.expanded : r.value))),
    expanded: Math.max(...found.map(reading => reading.expanded)),
    bound,
    n: found.reduce((sum, reading) => sum + reading.n, 0),
    parts: [],
    budget: [],
  }
}

function standardOf({ expanded, standard }: Reading): number {
  return standard ?? expanded / USUAL_FACTOR
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length
}

function deviation(values: readonly number[]): number {
  const middle = mean(values)
  return Math.sqrt(values.reduce((sum, value) => sum + (value - middle) ** 2, 0) / (values.length - 1))
}

import type { Inspection, Verdict } from '../model/inspection.js'
import { type Part, READINGS, type Reading } from '../model/reading.js'
import { isReadingName } from './format-reading.js'

/** The place that decided a reading. */
export interface WorstPlace {
  readonly part: Part
  readonly reading: keyof typeof READINGS
  readonly unit: Reading['unit']
  readonly verdict: Verdict
}

/**
 * For each finding that is no pass, the part that stands worst; when all pass, for each limit the part nearest to it.
 * Worst finding first, each place once.
 */
export function worstPlaces(inspection: Inspection): readonly WorstPlace[] {
  const doubtful = inspection.findings.filter(finding => finding.verdict !== 'pass')
  const places: WorstPlace[] = []
  for (const finding of doubtful.length > 0 ? doubtful : inspection.findings) {
    if (!isReadingName(finding.reading)) continue
    const reading = inspection.readings[finding.reading]
    const part = reading === undefined ? undefined : worstPart(reading, READINGS[finding.reading].better)
    if (reading === undefined || part === undefined || places.some(place => place.part.id === part.id)) continue
    places.push({ part, reading: finding.reading, unit: reading.unit, verdict: finding.verdict })
  }
  return places
}

/** The lowest part where high is good, the highest where low is good. */
function worstPart(reading: Reading, better: 'higher' | 'lower'): Part | undefined {
  let worst: Part | undefined
  for (const part of reading.parts) {
    if (worst === undefined || (better === 'higher' ? part.value < worst.value : part.value > worst.value)) worst = part
  }
  return worst
}

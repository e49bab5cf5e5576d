import type { Finding } from '../model/inspection.js'
import type { JobType } from '../model/job-type.js'
import type { LadderStep } from '../model/ladder.js'
import { READINGS, type ReadingName } from '../model/reading.js'

/**
 * Ripple of the ink, which more ink fills in (common practice, no source). Where ink is darker than the scanner tells it cannot be read; then
 * the next lower level of the same mode and stock must have been in order, or nobody knows.
 */
const FILLED_IN: readonly ReadingName[] = ['bandingAmplitude', 'mottle']

/**
 * Settings that pass only because ripple could not be read on them become rechecks where the nearest lower level of the same stock and mode on
 * which it was read is not inside its limit.
 */
export function belowUnread(steps: readonly LadderStep[], limits: JobType['limits']): readonly LadderStep[] {
  return steps.map(step => {
    if (step.verdict !== 'pass') return step
    for (const name of FILLED_IN) {
      const limit = limits[name]
      if (limit === undefined || step.readings[name] !== undefined) continue
      const below = steps
        .filter(one => one.stock === step.stock && one.mode === step.mode && one.level < step.level)
        .filter(one => one.readings[name] !== undefined)
        .sort((a, b) => b.level - a.level)[0]
      // A mode on which it was read nowhere (patches too small for it) is told in a note.
      if (below === undefined) continue
      const word = below.findings.find(finding => finding.reading === name)
      if (word?.verdict === 'pass') continue
      const label = READINGS[name].label
      const finding: Finding = {
        reading: name,
        verdict: 'recheck',
        limit,
        why: `${label} could not be read on it, and at level ${below.level}, the next lower one where it could, it is not sure to be inside: ${word?.why ?? 'it was not judged'}`,
        next: 'scan the strip again as a bracket of exposures, or take a level on which it can be read',
      }
      return { ...step, verdict: 'recheck', findings: [finding, ...step.findings], why: finding.why }
    }
    return step
  })
}

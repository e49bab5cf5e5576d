import type { JobType } from '../../src/model/job-type.js'
import type { Combination, LadderReadings, LadderStep } from '../../src/model/ladder.js'
import { judgeLadder } from '../../src/pipeline/judge-ladder.js'

/** A step judged by the real rule. */
export function ladderStep(at: Combination, readings: LadderReadings, jobType: JobType): LadderStep {
  const sample = {
    ...at,
    readings,
    file: 'scan.tif',
    scannedAt: '2026-03-02T09:00:00',
    notMeasured: [],
    response: 'calibrated' as const,
    doubts: [],
    crop: null,
  }
  return judgeLadder([sample], jobType)[0]!
}

import type { JobType } from '../../src/model/job-type.js'
import type { Combination, LadderReadings, LadderStep } from '../../src/model/ladder.js'
import { judgeLadder } from '../../src/pipeline/judge-ladder.js'

/** A step judged by the real rule. */
export function ladderStep(at: Combination, readings: LadderReadings, jobType: JobType): LadderStep {
  const sample = {
    ...at,
    readings,
    file: 'scan.tif',
    notMeasured: [],
    response: 'calibrated' as const,
    doubts: [],
    crop: null,
  }
  return judgeLadder([sample], jobType)[0]!
}

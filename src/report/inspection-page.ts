import type { Calibration } from '../model/calibration.js'
import type { Inspection } from '../model/inspection.js'
import type { JobType } from '../model/job-type.js'
import type { MeasuredScan } from '../model/measured.js'
import type { SiteSettings } from '../model/site.js'
import { inspectionView } from './inspection-view.js'
import { readyToRender, renderTemplate } from './render-template.js'
import { scaleChart } from './scale-chart.js'
import { spectrumChart } from './spectrum-chart.js'

/** All that an inspection's report is made of. */
export interface InspectionPageInput {
  readonly inspection: Inspection
  readonly measured: MeasuredScan
  readonly jobType: JobType
  /** Null when the scanner has no valid calibration. */
  readonly calibration: Calibration | null
  /** Earlier inspections of this positive, oldest first; the present one among them is left out. */
  readonly history: readonly Inspection[]
  readonly site: SiteSettings
  /** Name of the file beside the report with the correction of tints; absent when none is written. */
  readonly toneFile?: string
}

/** The report of one inspection: one HTML page that needs nothing outside itself. */
export function inspectionPage(input: InspectionPageInput): string {
  return renderTemplate('inspection', inspectionView(input))
}

let ready = false

/** Loads the templates and draws charts that nobody sees, once: the first few take several times as long as those after them, and there is time for it while another thread measures. */
export function readyToDraw(): void {
  if (ready) return
  ready = true
  readyToRender('inspection')
  const limit = { min: 0.5, max: 2, aim: 1 }
  for (const bound of [null, 'atMost', null] as const)
    scaleChart({ told: '', value: 1, expanded: 0.1, bound, limit, minText: '0.5', maxText: '2', aimText: '1' })
  const ripple = { id: '', direction: 'along the feed', frequency: [1, 2], amplitude: [1, 2], noise: [1, 1] } as const
  spectrumChart({ ...ripple, longestMm: 2, pitchMm: 1 }, '')
}

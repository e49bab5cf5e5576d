import type { JobType } from '../../../src/model/job-type.js'
import type { Doubt, MeasuredScan } from '../../../src/model/measured.js'
import { type Bound, type NotMeasured, READINGS, type Reading, type ReadingName } from '../../../src/model/reading.js'

/** A measured scan with nothing but these readings. */
export function measuredWith(
  readings: MeasuredScan['readings'],
  more: { doubts?: readonly Doubt[]; notMeasured?: readonly NotMeasured[]; response?: MeasuredScan['response'] } = {},
): MeasuredScan {
  return {
    header: {
      file: 'inbox/crest.tif',
      format: 'tiff',
      width: 100,
      height: 100,
      dpi: { across: 1200, along: 1200 },
      bits: 16,
      channels: 1,
      channel: 'grey',
      compression: 'none',
      maker: null,
      model: null,
      taggedAt: null,
      warnings: [],
    },
    dpi: { across: 1200, along: 1200, from: 'file' },
    response: more.response ?? 'calibrated',
    readings,
    notMeasured: more.notMeasured ?? [],
    notes: [],
    doubts: more.doubts ?? [],
    edges: [],
    outlines: [],
    page: {
      id: 'page',
      caption: '',
      pngBase64: '',
      width: 1,
      height: 1,
      rect: { column: 0, row: 0, width: 1, height: 1 },
    },
    crops: [],
  }
}

export function reading(name: ReadingName, value: number, expanded: number, bound: Bound | null = null): Reading {
  return { value, unit: READINGS[name].unit, expanded, bound, n: 5, parts: [], budget: [], method: `${name}@1` }
}

export function jobWith(limits: JobType['limits'], rule: JobType['rule'] = 'guarded'): JobType {
  return { name: 'crest', description: '', limits, rule, rescanEveryDays: null, printed: {} }
}

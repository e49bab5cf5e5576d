import { mkdir } from 'node:fs/promises'
import { join } from 'node:path'
import { openScan } from '../../src/decode/open-scan.js'
import { openSqliteStore } from '../../src/history/sqlite-store.js'
import type { ScanArrival } from '../../src/model/arrival.js'
import type { JobType } from '../../src/model/job-type.js'
import type { SiteSettings } from '../../src/model/site.js'
import type { WorkspaceContext } from '../../src/pipeline/inspect-into-workspace.js'
import { workspacePaths } from '../../src/pipeline/workspace-paths.js'
import { parseSiteSettings } from '../../src/settings/site-settings.js'
import { sampleCalibration } from './sample-inspection.js'
import { standInMeasure } from './stand-in-measure.js'

export const STAND_IN_JOB_TYPE: JobType = {
  name: 'fine-line',
  description: '',
  limits: { solidDensity: { min: 3 } },
  rule: 'guarded',
  rescanEveryDays: null,
  printed: {},
}

/** A real workspace in a folder: real disk, real database, only the pixel half is a stand-in. */
export async function workspaceContext(
  root: string,
  change: Partial<WorkspaceContext> & { settings?: Partial<SiteSettings> } = {},
): Promise<WorkspaceContext> {
  const { settings, ...rest } = change
  const paths = workspacePaths(root)
  for (const folder of [paths.inbox, paths.own, paths.temporary]) await mkdir(folder, { recursive: true })
  const temporary = join(paths.temporary, 'test')
  const calibration = {
    ...sampleCalibration(),
    scan: { ...sampleCalibration().scan, dpi: { across: 1200, along: 1200 } },
  }
  return {
    paths,
    temporary,
    site: { ...parseSiteSettings('', 'burngate.yaml'), ...settings },
    store: await openSqliteStore(paths.database),
    load: async () => ({
      jobTypes: {
        types: new Map([
          [STAND_IN_JOB_TYPE.name, STAND_IN_JOB_TYPE],
          ['bold', { ...STAND_IN_JOB_TYPE, name: 'bold', limits: { solidDensity: { min: 2.5 } } }],
        ]),
        unusable: new Map(),
      },
      calibrations: [calibration],
    }),
    loadCalibrations: async () => [calibration],
    readHeader: async (file, channel) => {
      const scan = await openScan(file, { channel, tempDir: temporary })
      scan.close()
      return scan.header
    },
    measure: request => standInMeasure(request, temporary),
    now: () => new Date('2025-03-04T12:00:00Z'),
    software: 'burngate 0.0.0',
    ...rest,
  }
}

export function arrivalOf(file: string, change: Partial<ScanArrival> = {}): ScanArrival {
  return {
    file,
    name: file.split('/').at(-1)!,
    folder: null,
    fileTime: '2025-03-04T11:00:00.000Z',
    sidecar: null,
    told: {},
    ...change,
  }
}

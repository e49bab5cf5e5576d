import { stat } from 'node:fs/promises'
import { join } from 'node:path'
import { toneCorrection, toneTableCsv } from '../advise/tone-correction.js'
import type { Acceptance } from '../model/acceptance.js'
import type { InspectionOutcome } from '../model/arrival.js'
import type { Inspection } from '../model/inspection.js'
import type { SiteSettings } from '../model/site.js'
import type { Store } from '../model/store.js'
import { archiveScan } from './archive-scan.js'
import type { InspectContext, InspectedScan, KnownScan } from './inspect-scan.js'
import { keepStroke } from './keep-stroke.js'
import { reportName } from './report-name.js'
import type { WorkspacePaths } from './workspace-paths.js'
import { writeWhole } from './write-whole.js'

export interface KeepContext extends Pick<InspectContext, 'now' | 'onStep'> {
  readonly paths: Pick<WorkspacePaths, 'archive' | 'reports'>
  readonly site: SiteSettings
  readonly store: Pick<Store, 'add' | 'byPositive' | 'acceptancesOf'>
  /** A folder of this process alone, on the workspace's disk. */
  readonly temporary: string
  /** See `archiveScan`: only for files that leave their place afterwards. */
  readonly mayLink: boolean
  /** See `archiveScan`: a copy of the scan of this content, made while it was measured. */
  readonly staged?: { readonly sha256: string; readonly copy: Promise<string | null> }
}

/**
 * Keeps an inspection: the scan into the archive, then the report, then the record. Each step can be done again without
 * harm and the record comes last, so whatever is cut off at any point is made whole by inspecting the scan again:
 * a record in the history always has its scan and its report.
 * @throws ProblemError FILE_NOT_WRITABLE, DATABASE_*, SCAN_STILL_GROWING
 */
export async function keepInspection(
  inspected: InspectedScan | KnownScan,
  context: KeepContext,
): Promise<InspectionOutcome> {
  const { arrival, state, further } = inspected
  const fresh = 'inspection' in inspected ? inspected : null
  const inspection = 'inspection' in inspected ? inspected.inspection : inspected.known
  context.onStep?.('archive', arrival)
  await archiveScan({
    arrival,
    sha256: inspection.scan.sha256,
    state,
    format: 'inspection' in inspected ? inspected.measured.header.format : inspected.format,
    archive: context.paths.archive,
    temporary: context.temporary,
    now: context.now(),
    mayLink: context.mayLink,
    ...(context.staged?.sha256 === inspection.scan.sha256 ? { staged: context.staged.copy } : {}),
  })
  for (const { file, name, fileTime, sha256, state, format } of further)
    await archiveScan({
      arrival: { ...arrival, file, name, fileTime, sidecar: null },
      sha256,
      state,
      format,
      archive: context.paths.archive,
      temporary: context.temporary,
      now: context.now(),
      mayLink: context.mayLink,
    })
  const report = join(context.paths.reports, `${reportName(inspection)}.html`)
  if (fresh === null) return { inspection, known: true, report: (await exists(report)) ? report : null }

  context.onStep?.('report', arrival)
  const history = await context.store.byPositive(inspection.positive)
  // The very scan may have been let through before and is only measured again.
  const acceptances = (await context.store.acceptancesOf(inspection.positive)).filter(
    a => a.inspection === inspection.id,
  )
  await keepStroke(context.paths.reports, fresh)
  const drawn = await page(fresh, history, context.site)
  await writeWhole(report, acceptances.length === 0 ? drawn : await accepted(drawn, acceptances))
  await writeWhole(report.replace(/\.html$/, '.json'), recordText(inspection, acceptances))
  const table = toneTable(inspection)
  if (table !== null) await writeWhole(join(context.paths.reports, toneFileOf(inspection)), table)
  context.onStep?.('record', arrival)
  const added = await context.store.add(inspection)
  context.onStep?.('done', arrival)
  return { inspection, known: !added, report }
}

/** The report of an inspection as one HTML page. What draws it is large, and loaded when the first is drawn. */
export async function page(
  inspected: InspectedScan,
  history: readonly Inspection[],
  site: SiteSettings,
): Promise<string> {
  const { inspectionPage } = await import('../report/inspection-page.js')
  const { inspection, measured, jobType, calibration } = inspected
  return inspectionPage({ inspection, measured, jobType, calibration, history, site, toneFile: toneFileOf(inspection) })
}

/** The correction that would straighten the strip's tints, as CSV; null when there is none. */
export function toneTable({ strip }: Inspection): string | null {
  const correction = toneCorrection(strip?.tones ?? [], { dots: strip?.identity?.tints === 'screened' })
  return correction.kind === 'made' ? toneTableCsv(correction) : null
}

/** Its name beside the report. */
export function toneFileOf(inspection: Inspection): string {
  return `${reportName(inspection)}.tone.csv`
}

/** The record as it lies beside the report; with what people let through, where they did. */
export function recordText(inspection: Inspection, acceptances: readonly Acceptance[] = []): string {
  return `${JSON.stringify(acceptances.length === 0 ? inspection : { ...inspection, acceptances }, null, 2)}\n`
}

async function accepted(drawn: string, acceptances: readonly Acceptance[]): Promise<string> {
  const { withAcceptances } = await import('../report/acceptance-block.js')
  return withAcceptances(drawn, acceptances)
}

async function exists(file: string): Promise<boolean> {
  return stat(file).then(
    () => true,
    () => false,
  )
}

import { join } from 'node:path'
import { forecastGrowth, type GrowthForecast } from '../compare/forecast-growth.js'
import type { Acceptance } from '../model/acceptance.js'
import type { Inspection } from '../model/inspection.js'
import type { Retirement } from '../model/retirement.js'
import type { SiteSettings } from '../model/site.js'
import type { FilmUse } from '../model/use.js'
import { forecastSays, historyPage, newestTaken } from '../report/history-page.js'
import { useHistory } from '../trend/use-history.js'
import { historyFile } from './history-file.js'
import type { JobTypeShelf } from './inspect-scan.js'
import { keptStroke } from './keep-stroke.js'
import { reportName } from './report-name.js'
import { writeWhole } from './write-whole.js'

export interface HistoryContext {
  readonly reports: string
  readonly site: Pick<SiteSettings, 'rulingUnit'>
  /** What people said of it. */
  readonly acceptances: readonly Acceptance[]
  readonly retirements: readonly Retirement[]
  readonly uses: readonly FilmUse[]
  readonly jobTypes: () => Promise<JobTypeShelf>
  readonly now: Date
  readonly software: string
}

/**
 * Writes the page of one positive, `reports/history/<positive>__<hash of its name>.html`, with the forecast worked out anew against today's limits.
 * @param inspections every one of the positive, oldest first, one or more
 * @returns the page's path and the forecast as a sentence
 * @throws ProblemError FILE_NOT_WRITABLE
 */
export async function writeHistory(
  inspections: readonly Inspection[],
  context: HistoryContext,
): Promise<{ readonly page: string; readonly says: string }> {
  const { html, says } = await composeHistory(inspections, context)
  const page = join(context.reports, 'history', historyFile(inspections.at(-1)!.positive))
  await writeWhole(page, html)
  return { page, says }
}

/** The page of one positive; writes nothing. @param inspections every one of it, oldest first, one or more */
export async function composeHistory(
  inspections: readonly Inspection[],
  { reports, site, acceptances, retirements, uses, jobTypes, now, software }: HistoryContext,
): Promise<{ readonly html: string; readonly says: string }> {
  const newest = inspections.at(-1)
  if (newest === undefined) throw new RangeError('a history must have one inspection or more; got none')
  const compared = inspections.filter(one => one.standing?.kind === 'compared' && one.growth !== null).at(-1)
  const limits = (await jobTypes()).types.get(newest.jobType)?.limits ?? null
  const answer: GrowthForecast =
    compared === undefined || limits === null
      ? { forecast: null, because: 'no later scan was compared with the first', bands: [] }
      : forecastGrowth({ newest: compared, history: inspections, limits })
  const { positive } = newest
  const because = answer.forecast === null ? answer.because : null
  const html = historyPage({
    positive,
    inspections: inspections.map(one => ({ ...one, href: `../${reportName(one)}.html` })),
    acceptances,
    retirements,
    used: useHistory(inspections, uses),
    limits,
    forecast: answer.forecast,
    because,
    bands: answer.bands,
    stroke: compared === undefined ? null : await keptStroke(reports, compared),
    manner: { rulingUnit: site.rulingUnit, calibrated: inspections.some(one => one.scanner !== null) },
    now,
    software,
  })
  const { forecast } = answer
  return {
    html,
    says: forecast === null ? `No forecast: ${because}.` : forecastSays(forecast, newestTaken(inspections).scannedAt),
  }
}

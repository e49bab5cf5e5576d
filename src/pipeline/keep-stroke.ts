import { readFile } from 'node:fs/promises'
import { join } from 'node:path'
import type { StrokePictures } from '../model/growth.js'
import type { Inspection } from '../model/inspection.js'
import type { InspectedScan } from './inspect-scan.js'
import { reportName } from './report-name.js'
import { writeWhole } from './write-whole.js'

/**
 * Keeps what a comparison showed of one stroke, before and after, for the page of the history: `reports/history/<report>.json`, tens of kB.
 * Nothing is written of a scan that was not compared.
 * @throws ProblemError FILE_NOT_WRITABLE
 */
export async function keepStroke(
  reports: string,
  { inspection, measured }: Pick<InspectedScan, 'inspection' | 'measured'>,
): Promise<void> {
  const { comparison } = measured
  if (comparison?.outcome !== 'compared' || (comparison.crops === null && comparison.profiles === null)) return
  const kept: StrokePictures = {
    schema: 'burngate/stroke@1',
    inspection: inspection.id,
    crops: comparison.crops,
    profiles: comparison.profiles,
  }
  await writeWhole(strokeFile(reports, inspection), `${JSON.stringify(kept)}\n`)
}

/** The stroke of an inspection as it was kept; null where none was, or it is not whole any more. */
export async function keptStroke(
  reports: string,
  inspection: Pick<Inspection, 'positive' | 'id'>,
): Promise<StrokePictures | null> {
  try {
    const kept = JSON.parse(await readFile(strokeFile(reports, inspection), 'utf8')) as StrokePictures
    return kept.schema === 'burngate/stroke@1' && kept.inspection === inspection.id ? kept : null
  } catch {
    // Pictures may be thrown away: the numbers stand in the history.
    return null
  }
}

function strokeFile(reports: string, inspection: Pick<Inspection, 'positive' | 'id'>): string {
  return join(reports, 'history', `${reportName(inspection)}.json`)
}

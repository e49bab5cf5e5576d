import type { Calibration } from '../model/calibration.js'
import type { BaselineRequest } from '../model/growth.js'
import type { Inspection } from '../model/inspection.js'
import type { Channel, ScanHeader } from '../model/scan.js'
import type { SiteSettings } from '../model/site.js'
import { matchScanner } from './match-scanner.js'

/** Where the scans and calibrations of earlier inspections are. */
export interface BaselineShelf {
  /** Path of an archived scan by its content; null when it is not there. */
  readonly archived: (sha256: string) => Promise<string | null>
  /** Calibrations in use now, and those that later ones replaced. */
  readonly calibrations: readonly Calibration[]
  readonly earlier: () => Promise<readonly Calibration[]>
  readonly readHeader: (file: string, channel: Channel) => Promise<ScanHeader>
  /** SHA-256 of a file's content. */
  readonly contentOf: (file: string) => Promise<string>
  readonly site: SiteSettings
  readonly now: Date
}

export type FoundBaseline =
  | { readonly request: BaselineRequest }
  | { readonly missing: string }
  | { readonly changed: string }

/**
 * How the baseline's scan is opened anew: from the archive, with the calibration it was measured with when that is still there, else with the
 * one its scanner has now. What is opened is held against its hash first: a name in the archive is a promise, and disks and people break it.
 * @param calibration what the new scan goes by
 * @returns the content that is missing when a file is not in the archive, or that is not in its file any more
 */
export async function findBaseline(
  baseline: Inspection,
  calibration: Calibration | null,
  shelf: BaselineShelf,
): Promise<FoundBaseline> {
  const [file, ...bracket] = await Promise.all(
    [baseline.scan, ...(baseline.scan.bracket ?? [])].map(async ({ sha256 }) => ({
      sha256,
      path: await shelf.archived(sha256),
    })),
  )
  const missing = [file!, ...bracket].find(({ path }) => path === null)
  if (missing !== undefined) return { missing: missing.sha256 }
  for (const { sha256, path } of [file!, ...bracket])
    if ((await shelf.contentOf(path!)) !== sha256) return { changed: sha256 }
  const channel = baseline.scan.channel as Channel
  const [across, along] = baseline.scan.dpi
  const own = await calibrationOf(baseline, file!.path!, channel, shelf)
  return {
    request: {
      file: file!.path!,
      ...(bracket.length === 0 ? {} : { bracket: bracket.map(({ path }) => path!) }),
      dpi: { across, along, from: 'sidecar' },
      channel,
      calibration: own.calibration,
      sameCalibration: same(own.calibration, calibration),
      notes: own.notes,
    },
  }
}

async function calibrationOf(
  baseline: Inspection,
  file: string,
  channel: Channel,
  { calibrations, earlier, readHeader, site, now }: BaselineShelf,
): Promise<{ calibration: Calibration | null; notes: string[] }> {
  const { scanner } = baseline
  const was = (c: Calibration) => c.scanner === scanner?.name && c.calibratedAt === scanner.calibratedAt
  if (scanner !== null) {
    const kept = calibrations.find(was) ?? (await earlier()).find(was)
    if (kept !== undefined) return { calibration: kept, notes: [] }
  }
  const [across, along] = baseline.scan.dpi
  const match = matchScanner({
    told: scanner === null ? null : { name: scanner.name, from: 'sidecar' },
    header: await readHeader(file, channel),
    dpi: { across, along },
    site,
    calibrations,
    now,
  })
  const { calibration } = match
  if (calibration === null)
    return {
      calibration: null,
      notes: [
        'The first scan of this positive could not be measured with a calibration, so growth is only as good as its codes.',
      ],
    }
  const then =
    scanner === null ? 'without a calibration' : `with the calibration of ${scanner.calibratedAt.slice(0, 10)}`
  return {
    calibration,
    notes: [
      `The first scan of this positive was measured ${then}; it was measured again with that of ${calibration.calibratedAt.slice(0, 10)}.`,
    ],
  }
}

function same(a: Calibration | null, b: Calibration | null): boolean {
  if (a === null || b === null) return a === b
  return a.scanner === b.scanner && a.calibratedAt === b.calibratedAt && a.scan.sha256 === b.scan.sha256
}

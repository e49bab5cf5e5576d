import { readFile } from 'node:fs/promises'
import { basename, join } from 'node:path'
import { calibrateScanner } from '../calibrate/calibrate-scanner.js'
import { calibrationFileName, readCalibration, writeCalibration } from '../calibrate/calibration-file.js'
import {
  type Certificate,
  certificateText,
  isNominalName,
  nominalCertificate,
  parseCertificate,
} from '../calibrate/certificate.js'
import type { FlatScan } from '../calibrate/flat-field.js'
import { withEarlierSize, withPixelSize } from '../calibrate/pixel-size.js'
import { openScan } from '../decode/open-scan.js'
import type { Calibration } from '../model/calibration.js'
import { ProblemError } from '../model/problem.js'
import type { ScanHeader } from '../model/scan.js'
import type { SiteSettings } from '../model/site.js'
import { calibrationPage } from '../report/calibration-page.js'
import { hashFile } from './hash-file.js'
import { writeWhole } from './write-whole.js'

export interface CalibrationTask {
  readonly scan: string
  readonly scanner: string
  /** A certificate file, or the name of a nominal tablet. */
  readonly tablet: string
  /** Scan of a straight edge at the same setting, or null. */
  readonly edge: string | null
  /** Scans of the bare glass, or of even films on it, at the same setting. */
  readonly flats?: readonly string[]
  /** Scan of a grid of known pitch at the same setting. */
  readonly grid?: { readonly scan: string; readonly pitchMm: number; readonly pitchExpandedMm?: number } | null
  readonly site: SiteSettings
  /** The workspace's `scanners/`. */
  readonly scanners: string
  readonly temporary: string
  readonly now: Date
  readonly software: string
}

/**
 * Calibrates a scanner from files and keeps the calibration, with a page to look at beside it.
 * @throws ProblemError FILE_*, SCAN_*, TABLET_*, CALIBRATION_*, EDGE_*, GRID_*, FLAT_*, RESOLUTION_*, SCANNER_NAME_INVALID
 */
export async function calibrateFromFiles(
  task: CalibrationTask,
): Promise<{ readonly calibration: Calibration; readonly file: string; readonly page: string }> {
  const certificate = await certificateOf(task.tablet)
  const options = { channel: task.site.channel, tempDir: task.temporary }
  const { sha256: tabletSha256 } = await hashFile(task.scan)
  const tablet = await openScan(task.scan, options)
  try {
    const edge = task.edge === null ? null : { sha256: (await hashFile(task.edge)).sha256, file: task.edge }
    if (edge?.sha256 === tabletSha256) throw new ProblemError('EDGE_IS_TABLET', basename(edge.file))
    const edgeScan = edge === null ? null : await openScan(edge.file, options)
    const flats: FlatScan[] = []
    try {
      if (edgeScan !== null) refuseOtherSetting(tablet.header, edgeScan.header)
      for (const flat of task.flats ?? [])
        flats.push({ sha256: (await hashFile(flat)).sha256, scan: await openScan(flat, options) })
      const siteDpi = tablet.header.dpi === null ? task.site.scanners[task.scanner]?.dpi : undefined
      const made = calibrateScanner({
        tablet,
        tabletSha256,
        certificate,
        edge: edge === null || edgeScan === null ? null : { scan: edgeScan, sha256: edge.sha256 },
        flats,
        scanner: task.scanner,
        now: task.now,
        software: task.software,
        ...(siteDpi === undefined ? {} : { dpi: siteDpi }),
      })
      // The file's name is enough, and no folder of this machine stands in a file that is passed on.
      const named = { ...made, scan: { ...made.scan, file: basename(task.scan) } }
      const calibration = await withGrid(named, task, siteDpi)
      const file = await writeCalibration(task.scanners, calibration)
      const page = file.replace(/\.json$/, '.html')
      await writeWhole(page, calibrationPage(calibration))
      return { calibration, file, page }
    } finally {
      edgeScan?.close()
      for (const flat of flats) flat.scan.close()
    }
  } finally {
    tablet.close()
  }
}

/** Resolutions nearer than this share are one setting: drivers write 1199.98 for 1200. */
const SAME_DPI = 0.01

/** Light of the edge is worked out by the tablet's curve, which holds for its bits and channel only; and other optics serve another dpi. */
function refuseOtherSetting(tablet: ScanHeader, edge: ScanHeader): void {
  const [own, other] = [tablet.dpi?.across, edge.dpi?.across]
  const differs = [
    ...(own !== undefined && other !== undefined && Math.abs(other / own - 1) > SAME_DPI
      ? [`${Math.round(other)} dpi and not ${Math.round(own)}`]
      : []),
    ...(edge.bits === tablet.bits ? [] : [`${edge.bits} bits and not ${tablet.bits}`]),
    ...(edge.channel === tablet.channel ? [] : [`${edge.channel} and not ${tablet.channel}`]),
  ]
  if (differs.length > 0) throw new ProblemError('EDGE_OTHER_SETTING', differs.join('; '))
}

/** The calibration with the pixel size of the task's grid scan; without one, with that of the calibration it replaces. */
async function withGrid(
  calibration: Calibration,
  { grid, site, temporary, scanners }: CalibrationTask,
  siteDpi: number | undefined,
): Promise<Calibration> {
  if (grid === undefined || grid === null) return withEarlierSize(calibration, await replacedBy(calibration, scanners))
  const { sha256 } = await hashFile(grid.scan)
  const scan = await openScan(grid.scan, { channel: site.channel, tempDir: temporary })
  try {
    const told = scan.header.dpi === null ? siteDpi : undefined
    return withPixelSize(calibration, { ...grid, scan, sha256 }, told)
  } finally {
    scan.close()
  }
}

/** The calibration of the same scanner and setting that stands until now; null when there is none that can be read. */
async function replacedBy(calibration: Calibration, scanners: string): Promise<Calibration | null> {
  try {
    return await readCalibration(join(scanners, calibrationFileName(calibration)))
  } catch (error) {
    if (error instanceof ProblemError) return null
    throw error
  }
}

async function certificateOf(tablet: string): Promise<Certificate> {
  if (isNominalName(tablet)) return nominalCertificate(tablet)
  try {
    return parseCertificate(certificateText(await readFile(tablet)), basename(tablet).replace(/\.(csv|txt|tsv)$/i, ''))
  } catch (error) {
    if (error instanceof ProblemError) throw error
    const { code } = error as NodeJS.ErrnoException
    throw code === 'ENOENT'
      ? new ProblemError('FILE_MISSING', `${tablet} (and nominal tablets are nominal-21 and nominal-31)`)
      : new ProblemError('FILE_NOT_READABLE', `${tablet}: ${code}`)
  }
}

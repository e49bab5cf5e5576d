import { lightScale, unknownLightScale } from '../calibrate/light-scale.js'
import { pixelSize } from '../calibrate/pixel-size.js'
import { openScan } from '../decode/open-scan.js'
import type { UnpackShare } from '../decode/unpack-codes.js'
import { removeUnpacked } from '../decode/unpacked-picture.js'
import { blockOverview } from '../imaging/block-overview.js'
import { blockPixels } from '../locate/locate-scan.js'
import { locateStrips } from '../locate/locate-strips.js'
import type { UnpackedScan } from '../model/arrival.js'
import type { SeenOverview } from '../model/block-overview.js'
import type { Calibration } from '../model/calibration.js'
import type { Dpi } from '../model/geometry.js'
import { ProblemError } from '../model/problem.js'
import type { Channel } from '../model/scan.js'
import type { StripLook } from '../model/strip.js'
import { clearLight, layStrip } from './lay-strip.js'
import { sameCalibration } from './same-calibration.js'
import { unpackInSecondThread } from './second-thread.js'
import { overviewOf, unpackedOf } from './seen-overview.js'

/** What is asked of a scan before anything is measured on it. Plain data: it crosses into the worker thread. */
export interface LookRequest {
  readonly file: string
  readonly channel: Channel
  /** Goes before the file's own; null to use that. */
  readonly dpi: Dpi | null
  /** The one it will be measured with, so that its overview serves then too. A strip is found without one as well. */
  readonly calibration: Calibration | null
  /** What it was unpacked to before, which serves while the file is as it was then. */
  readonly unpacked?: UnpackedScan
}

/** Who a scan says it is, and the page as it was seen for that; null where it was not looked at. */
export interface ScanLook {
  readonly look: StripLook
  readonly overview: SeenOverview | null
}

/**
 * Who a scan says it is by its control strip: a look at the overview and at the two codes, before job type and baseline are chosen. A scan that
 * cannot be looked at says nothing here: whoever measures it says why. What a packed scan was unpacked to is left for that.
 * @param secondThread URL of the code of a thread beside this one (`beside-worker.ts`) that unpacks half of a packed scan
 */
export async function lookForStrip(request: LookRequest, tempDir: string, secondThread?: string): Promise<ScanLook> {
  try {
    const beside = (share: UnpackShare) => unpackInSecondThread(secondThread!, share, share.to <= MOST_ROWS_KEPT)
    const unpackBeside = secondThread === undefined ? {} : { unpackBeside: beside }
    const { file, channel } = request
    const before = request.unpacked?.of === unpackedOf(file, channel) ? request.unpacked : undefined
    const scan = await openScan(file, {
      channel,
      tempDir,
      keepUnpacked: true,
      ...unpackBeside,
      ...(before === undefined ? {} : { unpackedBefore: before.path }),
    })
    const unpacked = scan.file === undefined || scan.file === request.file ? null : scan.file
    let seen: ScanLook | null = null
    try {
      const dpi = request.dpi ?? scan.header.dpi
      if (dpi === null || !(dpi.across >= LEAST_DPI && dpi.along >= LEAST_DPI)) return NOTHING_SEEN
      const calibration = sameCalibration(request.calibration)
      const { umPerPixel } = pixelSize(calibration, dpi)
      const light = calibration === null ? unknownLightScale(null) : lightScale(calibration)
      const of = overviewOf(request)
      const blocks = blockOverview(scan, blockPixels(umPerPixel), light.transmittance)
      const clear = clearLight(blocks)
      const page = { scan, light, umPerPixel }
      const { look } = await layStrip(page, locateStrips(page, blocks, clear), clear)
      seen = { look, overview: { blocks, of, ...(unpacked === null ? {} : { unpacked }) } }
      return seen
    } finally {
      scan.close()
      if (seen === null && unpacked !== null) removeUnpacked(unpacked)
    }
  } catch (error) {
    if (error instanceof ProblemError) return NOTHING_SEEN
    throw error
  }
}

/** The thread that unpacked half of a page that is no longer than an A4 at 1200 dpi looks for flaws next; that of a longer one ends, for the room it takes. */
const MOST_ROWS_KEPT = 15_000

/** A module of the code has two pixels from here on. */
const LEAST_DPI = 200

const NOTHING_SEEN: ScanLook = { look: { identity: null, found: 0, refused: null }, overview: null }

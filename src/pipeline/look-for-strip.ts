import { unknownLightScale } from '../calibrate/light-scale.js'
import { openScan } from '../decode/open-scan.js'
import { blockOverview } from '../imaging/block-overview.js'
import { OVERVIEW_BLOCK_UM } from '../locate/locate-scan.js'
import { locateStrips } from '../locate/locate-strips.js'
import { type Dpi, UM_PER_INCH } from '../model/geometry.js'
import { ProblemError } from '../model/problem.js'
import type { Channel } from '../model/scan.js'
import type { StripLook } from '../model/strip.js'
import { clearLight, layStrip } from './lay-strip.js'

/** What is asked of a scan before anything is measured on it. Plain data: it crosses into the worker thread. */
export interface LookRequest {
  readonly file: string
  readonly channel: Channel
  /** Goes before the file's own; null to use that. */
  readonly dpi: Dpi | null
}

/**
 * Who a scan says it is by its control strip: a look at the overview and at the two codes, before job type and baseline are chosen. Light is not
 * needed for that, so it goes by codes. A scan that cannot be looked at says nothing here: whoever measures it says why.
 */
export async function lookForStrip(request: LookRequest, tempDir: string): Promise<StripLook> {
  try {
    const scan = await openScan(request.file, { channel: request.channel, tempDir })
    try {
      const dpi = request.dpi ?? scan.header.dpi
      if (dpi === null || !(dpi.across >= LEAST_DPI && dpi.along >= LEAST_DPI)) return NOTHING_SEEN
      const umPerPixel = { across: UM_PER_INCH / dpi.across, along: UM_PER_INCH / dpi.along }
      const light = unknownLightScale(null)
      const um = Math.sqrt(umPerPixel.across * umPerPixel.along)
      const overview = blockOverview(scan, Math.max(1, Math.round(OVERVIEW_BLOCK_UM / um)), light.transmittance)
      const clear = clearLight(overview)
      const page = { scan, light, umPerPixel }
      return (await layStrip(page, locateStrips(page, overview, clear), clear)).look
    } finally {
      scan.close()
    }
  } catch (error) {
    if (error instanceof ProblemError) return NOTHING_SEEN
    throw error
  }
}

/** A module of the code has two pixels from here on. */
const LEAST_DPI = 200

const NOTHING_SEEN: StripLook = { identity: null, found: 0, refused: null }

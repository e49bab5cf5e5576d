import { openArtwork } from '../../src/decode/open-artwork.js'
import type { DemoStep } from '../../src/demo/ladder.js'
import type { PrintedRaster } from '../../src/demo/printed-raster.js'
import { type DemoScanner, scanBands, scanSize } from '../../src/demo/scanner.js'
import { writeCodes } from '../../src/demo/write-codes.js'
import type { ArtworkBitmap } from '../../src/model/artwork.js'
import { MM_PER_INCH } from '../../src/model/geometry.js'
import type { LadderPlan } from '../../src/model/ladder.js'
import { ladderSheet } from '../../src/pipeline/plan-ladder.js'
import { stripLayout } from '../../src/strip/strip-layout.js'

/** Open bed round the film, mm. */
const GLASS = 2

/**
 * A sheet as `ladder sheet` wrote it, printed by a make-believe printer and scanned: each strip at the ink of its own step (a driver that can
 * ramp), all with the spread of the first. The film lies turned by so many degrees.
 * @param steps of the strips, in the order of the sheet's places
 */
export async function printAndScan(
  sheet: string,
  to: string,
  plan: LadderPlan,
  steps: readonly DemoStep[],
  lies: {
    readonly scanner: DemoScanner
    readonly turnDegrees: number
    readonly mirrored: boolean
    readonly seed: number
    /** The scanner's clock, `YYYY-MM-DDTHH:MM:SS`; the day of most tests when not told. */
    readonly dateTime?: string
  },
  tempDir: string,
): Promise<void> {
  const bitmap = await openArtwork(sheet, { tempDir })
  const { across, along } = bitmap.dpi
  const most = Math.max(...steps.map(step => step.netDensity))
  const { turned, places } = ladderSheet(plan)
  const size = stripLayout('ladder', 'head', null)
  const [wide, high] = turned ? [size.height, size.width] : [size.width, size.height]
  const printed = steps.map((step, i): PrintedRaster => {
    const { u, v } = places[i]!
    // A printer pixel more on each side: the strip itself lies on whole ones.
    const column = Math.floor((u * across) / MM_PER_INCH) - 1
    const row = Math.floor((v * along) / MM_PER_INCH) - 1
    const raster = cut(bitmap, {
      column: column & ~7,
      row,
      width: Math.ceil((wide * across) / MM_PER_INCH) + 10,
      height: Math.ceil((high * along) / MM_PER_INCH) + 2,
    })
    return {
      u: ((column & ~7) * MM_PER_INCH) / across,
      v: (row * MM_PER_INCH) / along,
      raster,
      ink: step.netDensity / most,
    }
  })
  const widthMm = (bitmap.width * MM_PER_INCH) / across
  const heightMm = (bitmap.height * MM_PER_INCH) / along
  const turn = (lies.turnDegrees * Math.PI) / 180
  const bedWidthMm = widthMm * Math.cos(turn) + heightMm * Math.abs(Math.sin(turn)) + 2 * GLASS
  const bedHeightMm = heightMm * Math.cos(turn) + widthMm * Math.abs(Math.sin(turn)) + 2 * GLASS
  const first = steps[0]!
  const scan = {
    scanner: lies.scanner,
    bedWidthMm,
    bedHeightMm,
    film: {
      widthMm,
      heightMm,
      baseDensity: first.baseDensity,
      netDensity: most,
      inkSpreadUm: first.inkSpreadUm,
      shapes: [],
      printed,
      ...(first.banding > 0 ? { banding: { amplitude: first.banding, pitchMm: 1.27 } } : {}),
    },
    placement: {
      acrossMm: bedWidthMm / 2,
      alongMm: bedHeightMm / 2,
      turnDegrees: lies.turnDegrees,
      mirrored: lies.mirrored,
    },
    holder: null,
    seed: lies.seed,
  }
  const { dpi, maker, model } = lies.scanner
  const { width, height } = scanSize(scan)
  const { dateTime = '2026-03-02T09:00:00' } = lies
  await writeCodes(to, { width, height, dpi, maker, model, dateTime }, scanBands(scan))
}

/** A window of a bitmap; it begins on a whole byte. What lies beyond is clear. */
function cut(
  bitmap: ArtworkBitmap,
  at: { readonly column: number; readonly row: number; readonly width: number; readonly height: number },
): ArtworkBitmap {
  const rowBytes = Math.ceil(at.width / 8)
  const bits = new Uint8Array(rowBytes * at.height)
  for (let r = 0; r < at.height; r++)
    for (let b = 0; b < rowBytes; b++) {
      const from = (at.column >> 3) + b
      if (from < bitmap.rowBytes && at.row + r < bitmap.height)
        bits[r * rowBytes + b] = bitmap.bits[(at.row + r) * bitmap.rowBytes + from]!
    }
  return { ...bitmap, ...at, rowBytes, bits }
}
